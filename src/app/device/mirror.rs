//! The second store: IndexedDB, which survives a killed browser. Each job is one text under its key.

use idb::{Database, DatabaseEvent, Error, Factory, ObjectStoreParams, TransactionMode};
use wasm_bindgen::JsValue;

const NAME: &str = "ohms";
const STORE: &str = "jobs";

/// The opened mirror.
pub struct Mirror(Database);

impl Mirror {
    pub async fn open() -> Result<Mirror, Error> {
        let mut request = Factory::new()?.open(NAME, Some(1))?;
        request.on_upgrade_needed(|event| {
            if let Ok(database) = event.database() {
                // A store that is there already is kept.
                let _ = database.create_object_store(STORE, ObjectStoreParams::new());
            }
        });
        Ok(Mirror(request.await?))
    }

    /// The texts of all kept jobs, by job key.
    pub async fn all(&self) -> Result<Vec<(String, String)>, Error> {
        let transaction = self.0.transaction(&[STORE], TransactionMode::ReadOnly)?;
        let store = transaction.object_store(STORE)?;
        let keys = store.get_all_keys(None, None)?.await?;
        let values = store.get_all(None, None)?.await?;
        Ok(keys.iter().zip(&values).filter_map(|(key, value)| Some((key.as_string()?, value.as_string()?))).collect())
    }

    /// Writes one job's text; done when the browser has committed it.
    pub async fn keep(&self, key: &str, text: &str) -> Result<(), Error> {
        let transaction = self.0.transaction(&[STORE], TransactionMode::ReadWrite)?;
        let store = transaction.object_store(STORE)?;
        store.put(&JsValue::from_str(text), Some(&JsValue::from_str(key)))?.await?;
        transaction.commit()?.await?;
        Ok(())
    }

    /// Removes what lies under a key; done when the browser has committed it.
    pub async fn remove(&self, key: &str) -> Result<(), Error> {
        let transaction = self.0.transaction(&[STORE], TransactionMode::ReadWrite)?;
        transaction.object_store(STORE)?.delete(JsValue::from_str(key))?.await?;
        transaction.commit()?.await?;
        Ok(())
    }
}
