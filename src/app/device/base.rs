//! Databases of IndexedDB with one store each. A new kind of thing gets a database of its own, so that no database ever
//! has to be upgraded while another tab holds it open.

use idb::{Database, DatabaseEvent, Error, Factory, ObjectStore, ObjectStoreParams, Transaction, TransactionMode};
use js_sys::Promise;
use std::cell::RefCell;
use std::collections::BTreeMap;
use std::future::IntoFuture;
use std::rc::Rc;
use wasm_bindgen::JsValue;
use wasm_bindgen_futures::{JsFuture, future_to_promise};

/// How long a browser may take to open a database before the app goes on without it, ms. Some never answer.
const PATIENCE: i32 = 5_000;

/// Opens the database, and makes its store where it is new.
pub async fn open(name: &'static str, store: &'static str) -> Option<Database> {
    let opened =
        future_to_promise(async move { opened(name, store).await.map(JsValue::from).map_err(|_| JsValue::NULL) });
    let late = Promise::new(&mut |_, refuse| {
        if let Some(window) = web_sys::window() {
            let _ = window.set_timeout_with_callback_and_timeout_and_arguments_0(&refuse, PATIENCE);
        }
    });
    let first = JsFuture::from(Promise::race(&js_sys::Array::of2(&opened, &late))).await.ok()?;
    let mut database = Database::try_from(first).ok()?;
    // Whoever wants to change the database waits until this tab has let it go.
    database.on_version_change(|event| {
        if let Some(target) = event.target() {
            let close = js_sys::Reflect::get(&target, &"close".into());
            if let Ok(close) = close.and_then(wasm_bindgen::JsCast::dyn_into::<js_sys::Function>) {
                let _ = close.call0(&target);
            }
        }
    });
    database.forget_callbacks();
    Some(database)
}

/// A database that is opened when it is first needed.
#[derive(Clone, Copy)]
pub struct Base {
    pub name: &'static str,
    pub store: &'static str,
}

thread_local! {
    static OPENED: RefCell<BTreeMap<&'static str, Rc<Database>>> = const { RefCell::new(BTreeMap::new()) };
}

impl Base {
    pub async fn get(self) -> Option<Rc<Database>> {
        if let Some(there) = OPENED.with_borrow(|opened| opened.get(self.name).cloned()) {
            return Some(there);
        }
        let database = Rc::new(open(self.name, self.store).await?);
        OPENED.with_borrow_mut(|opened| opened.insert(self.name, database.clone()));
        Some(database)
    }

    /// It is opened anew when it is needed again: a browser closes a database when the disk was full.
    pub fn forget(self) {
        OPENED.with_borrow_mut(|opened| opened.remove(self.name));
    }

    /// Its store, for one transaction.
    pub async fn store(self, mode: TransactionMode) -> Option<(Transaction, ObjectStore)> {
        let transaction = self.get().await?.transaction(&[self.store], mode).ok()?;
        let store = transaction.object_store(self.store).ok()?;
        Some((transaction, store))
    }
}

/// Key and text of all that a store of texts holds, by key.
pub async fn texts(database: &Database, store: &str) -> Result<Vec<(String, String)>, Error> {
    let transaction = database.transaction(&[store], TransactionMode::ReadOnly)?;
    let store = transaction.object_store(store)?;
    // Both are asked for before the first is waited for: a start waits for the browser once instead of twice.
    let keys = store.get_all_keys(None, None)?.into_future();
    let values = store.get_all(None, None)?.into_future();
    let (keys, values) = (keys.await?, values.await?);
    Ok(keys.iter().zip(&values).filter_map(|(key, value)| Some((key.as_string()?, value.as_string()?))).collect())
}

/// Ends a transaction. None unless the browser says that it is done: without room it accepts what is put, and then takes all
/// of it back.
pub async fn committed(transaction: Transaction) -> Option<()> {
    transaction.commit().ok()?.await.ok()?.is_committed().then_some(())
}

async fn opened(name: &str, store: &'static str) -> Result<Database, Error> {
    let mut request = Factory::new()?.open(name, Some(1))?;
    request.on_upgrade_needed(move |event| {
        if let Ok(database) = event.database() {
            // A store that is there already is kept.
            let _ = database.create_object_store(store, ObjectStoreParams::new());
        }
    });
    request.await
}
