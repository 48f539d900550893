//! The second store: IndexedDB, which survives a killed browser. Each job is one text under its key.

use crate::app::device::base;
use crate::core::job::stored::{Meets, Mine, SetAside};
use idb::{Database, Error, Query, TransactionMode};
use wasm_bindgen::JsValue;

const NAME: &str = "ohms";
const STORE: &str = "jobs";

/// The opened mirror.
pub struct Mirror(Database);

impl Mirror {
    pub async fn open() -> Option<Mirror> {
        base::open(NAME, STORE).await.map(Mirror)
    }

    /// The texts of all kept jobs, by job key.
    pub async fn all(&self) -> Result<Vec<(String, String)>, Error> {
        base::texts(&self.0, STORE).await
    }

    /// Writes one text as it is; done when the browser has committed it, None where it has not.
    pub async fn put(&self, key: &str, text: &str) -> Option<()> {
        let transaction = self.0.transaction(&[STORE], TransactionMode::ReadWrite).ok()?;
        transaction.object_store(STORE).ok()?.put(&text.into(), Some(&key.into())).ok()?.await.ok()?;
        base::committed(transaction).await
    }

    /// Writes a job's text unless that would lose what lies there, and says what it met; done when the browser has
    /// committed it, None where it has not. `over_parted`: the other text is known to be kept elsewhere.
    pub async fn keep(&self, key: &str, mine: &Mine, over_parted: bool) -> Option<Meets> {
        let transaction = self.0.transaction(&[STORE], TransactionMode::ReadWrite).ok()?;
        let store = transaction.object_store(STORE).ok()?;
        let there =
            store.get(Query::from(JsValue::from_str(key))).ok()?.await.ok()?.and_then(|value| value.as_string());
        let meets = mine.meets(there.as_deref());
        let writes = match &meets {
            Meets::Older => true,
            Meets::Parted(_) => over_parted,
            Meets::Aside(SetAside::Broken) => {
                // The other store had it whole. What is broken stays, under a key of its own.
                let beside = format!("{key}.broken");
                store.put(&there.into(), Some(&beside.into())).ok()?.await.ok()?;
                true
            }
            Meets::Later | Meets::Aside(SetAside::Newer) => false,
        };
        if writes {
            store.put(&mine.text.as_str().into(), Some(&key.into())).ok()?.await.ok()?;
        }
        base::committed(transaction).await?;
        Some(if writes { Meets::Older } else { meets })
    }

    /// Removes what lies under a key; done when the browser has committed it.
    pub async fn remove(&self, key: &str) -> Result<(), Error> {
        let transaction = self.0.transaction(&[STORE], TransactionMode::ReadWrite)?;
        transaction.object_store(STORE)?.delete(JsValue::from_str(key))?.await?;
        transaction.commit()?.await?;
        Ok(())
    }
}
