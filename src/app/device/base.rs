//! Databases of IndexedDB with one store each. A new kind of thing gets a database of its own, so that no database ever
//! has to be upgraded while another tab holds it open.

use idb::{Database, DatabaseEvent, Error, Factory, ObjectStoreParams, Transaction};
use js_sys::Promise;
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
