//! The packs that are kept: each one text under its key, in a database of its own.

use crate::app::device::base::{self, Base};
use idb::TransactionMode;
use wasm_bindgen::JsValue;

const BASE: Base = Base { name: "ohms-packs", store: "packs" };

/// Key and text of each pack that is kept, by key; none where the browser does not say.
pub async fn all() -> Option<Vec<(String, String)>> {
    base::texts(&*BASE.get().await?, BASE.store).await.ok()
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
        let (transaction, store) = BASE.store(TransactionMode::ReadWrite).await?;
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
        BASE.forget();
    }
    false
}
