//! The packs that are kept: each one text under its key, in a database of its own.

use crate::app::device::base;
use idb::{Database, TransactionMode};
use std::cell::RefCell;
use std::rc::Rc;
use wasm_bindgen::JsValue;

const NAME: &str = "ohms-packs";
const STORE: &str = "packs";

thread_local! {
    static OPENED: RefCell<Option<Rc<Database>>> = const { RefCell::new(None) };
}

/// The database, opened when it is first needed.
async fn database() -> Option<Rc<Database>> {
    if let Some(there) = OPENED.with_borrow(Option::clone) {
        return Some(there);
    }
    let opened = Rc::new(base::open(NAME, STORE).await?);
    OPENED.set(Some(opened.clone()));
    Some(opened)
}

/// Key and text of each pack that is kept, by key; none where the browser does not say.
pub async fn all() -> Option<Vec<(String, String)>> {
    let database = database().await?;
    let transaction = database.transaction(&[STORE], TransactionMode::ReadOnly).ok()?;
    let store = transaction.object_store(STORE).ok()?;
    let keys = store.get_all_keys(None, None).ok()?.await.ok()?;
    let values = store.get_all(None, None).ok()?.await.ok()?;
    Some(keys.iter().zip(&values).filter_map(|(key, value)| Some((key.as_string()?, value.as_string()?))).collect())
}

/// Keeps a pack. False unless the browser has committed it.
pub async fn keep(key: &str, text: &str) -> bool {
    changed(|store| store.put(&text.into(), Some(&key.into())).ok().map(Change::Put)).await
}

/// Removes a pack for good. False unless the browser has committed it.
pub async fn remove(key: &str) -> bool {
    changed(|store| store.delete(JsValue::from_str(key)).ok().map(Change::Delete)).await
}

enum Change {
    Put(idb::request::PutStoreRequest),
    Delete(idb::request::DeleteStoreRequest),
}

async fn changed(change: impl Fn(&idb::ObjectStore) -> Option<Change>) -> bool {
    async fn once(change: &impl Fn(&idb::ObjectStore) -> Option<Change>) -> Option<()> {
        let database = database().await?;
        let transaction = database.transaction(&[STORE], TransactionMode::ReadWrite).ok()?;
        let store = transaction.object_store(STORE).ok()?;
        match change(&store)? {
            Change::Put(request) => drop(request.await.ok()?),
            Change::Delete(request) => request.await.ok()?,
        }
        base::committed(transaction).await
    }
    for _ in 0..2 {
        if once(&change).await.is_some() {
            return true;
        }
        // A browser closes a database when the disk was full: open it anew.
        OPENED.set(None);
    }
    false
}
