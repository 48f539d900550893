//! The pictures of photos: JPEG bytes under a key, in a database of their own. A picture that could not be kept stays in
//! the memory until the app closes.

use crate::app::device::base::{self, Base};
use idb::{Query, TransactionMode};
use js_sys::{Array, Uint8Array};
use std::cell::RefCell;
use std::collections::{BTreeMap, BTreeSet};
use wasm_bindgen::{JsCast, JsValue};
use web_sys::{Blob, BlobPropertyBag, Url};

const BASE: Base = Base { name: "ohms-photos", store: "photos" };

thread_local! {
    static NOT_KEPT: RefCell<BTreeMap<String, Vec<u8>>> = const { RefCell::new(BTreeMap::new()) };
}

/// Keeps a picture. False when it is only in the memory.
pub async fn keep(key: &str, jpeg: &[u8]) -> bool {
    for _ in 0..2 {
        if put(key, jpeg).await.is_some() {
            return true;
        }
        BASE.forget();
    }
    NOT_KEPT.with_borrow_mut(|all| all.insert(key.into(), jpeg.into()));
    false
}

async fn put(key: &str, jpeg: &[u8]) -> Option<()> {
    let (transaction, store) = BASE.store(TransactionMode::ReadWrite).await?;
    let bytes = Uint8Array::from(jpeg);
    store.put(&bytes, Some(&key.into())).ok()?.await.ok()?;
    base::committed(transaction).await
}

/// The bytes of a picture, if it is on this phone.
pub async fn bytes(key: &str) -> Option<Vec<u8>> {
    if let Some(there) = NOT_KEPT.with_borrow(|all| all.get(key).cloned()) {
        return Some(there);
    }
    let (_, store) = BASE.store(TransactionMode::ReadOnly).await?;
    let found = store.get(Query::from(JsValue::from_str(key))).ok()?.await.ok()??;
    found.dyn_into::<Uint8Array>().ok().map(|bytes| bytes.to_vec())
}

/// The keys of all pictures that are kept.
pub async fn keys() -> BTreeSet<String> {
    async fn read() -> Option<Vec<JsValue>> {
        let (_, store) = BASE.store(TransactionMode::ReadOnly).await?;
        store.get_all_keys(None, None).ok()?.await.ok()
    }
    let mut all: BTreeSet<String> = NOT_KEPT.with_borrow(|all| all.keys().cloned().collect());
    all.extend(read().await.into_iter().flatten().filter_map(|key| key.as_string()));
    all
}

/// Removes pictures for good.
pub async fn remove(keys: &[String]) {
    let Some((_, store)) = BASE.store(TransactionMode::ReadWrite).await else { return };
    for key in keys {
        if let Ok(gone) = store.delete(Query::from(JsValue::from_str(key))) {
            // One that stays takes room and does no other harm.
            let _ = gone.await;
        }
    }
}

/// An address under which the page can show a picture, for as long as this lives.
pub struct Shown(String);

impl Shown {
    pub fn new(jpeg: &[u8]) -> Option<Shown> {
        let options = BlobPropertyBag::new();
        options.set_type("image/jpeg");
        let bytes = Array::of1(&Uint8Array::from(jpeg));
        let blob = Blob::new_with_u8_array_sequence_and_options(&bytes, &options).ok()?;
        Url::create_object_url_with_blob(&blob).ok().map(Shown)
    }

    pub fn address(&self) -> String {
        self.0.clone()
    }
}

impl Drop for Shown {
    fn drop(&mut self) {
        let _ = Url::revoke_object_url(&self.0);
    }
}
