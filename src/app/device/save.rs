//! Files that the app gives away: to the phone's share sheet, or to where downloads go.

use js_sys::{Array, Function, Object, Promise, Reflect};
use wasm_bindgen::closure::Closure;
use wasm_bindgen::{JsCast, JsValue};
use wasm_bindgen_futures::JsFuture;
use web_sys::{Blob, BlobPropertyBag, File, FilePropertyBag, HtmlElement, Url};

/// How long a download may take to begin, ms; until then its address must stay.
const BEGIN: i32 = 60_000;

/// A file in the making, piece by piece: the browser may lay the pieces on the disk.
#[derive(Default)]
pub struct Pieces(Array);

impl Pieces {
    pub fn push(&self, text: &str) {
        // A piece alone in a blob leaves the memory of the app.
        match Blob::new_with_str_sequence(&Array::of1(&text.into())) {
            Ok(blob) => self.0.push(&blob),
            Err(_) => self.0.push(&text.into()),
        };
    }

    pub fn done(self, name: String, kind: &str) -> Option<Given> {
        let options = BlobPropertyBag::new();
        options.set_type(kind);
        let blob = Blob::new_with_blob_sequence_and_options(&self.0, &options).ok()?;
        Some(Given { name, blob })
    }
}

/// A whole file.
#[derive(Clone)]
pub struct Given {
    /// With its ending.
    pub name: String,
    blob: Blob,
}

impl Given {
    pub fn text(name: String, kind: &str, text: &str) -> Option<Given> {
        let pieces = Pieces::default();
        pieces.push(text);
        pieces.done(name, kind)
    }

    /// Bytes.
    pub fn size(&self) -> f64 {
        self.blob.size()
    }

    /// Hands it to the downloads. False where the browser does not take it; whether it arrives nobody says.
    pub fn download(&self) -> bool {
        self.try_download().is_some()
    }

    fn try_download(&self) -> Option<()> {
        let address = Url::create_object_url_with_blob(&self.blob).ok()?;
        let window = web_sys::window()?;
        let document = window.document()?;
        let link: HtmlElement = document.create_element("a").ok()?.dyn_into().ok()?;
        link.set_attribute("href", &address).ok()?;
        link.set_attribute("download", &self.name).ok()?;
        let body = document.body()?;
        body.append_child(&link).ok()?;
        link.click();
        link.remove();
        let forget = Closure::once_into_js(move || Url::revoke_object_url(&address));
        let _ = window.set_timeout_with_callback_and_timeout_and_arguments_0(forget.unchecked_ref(), BEGIN);
        Some(())
    }

    /// What a share sheet takes: it refuses .json (MDN, `Navigator.share()`), so that text goes under .txt.
    fn shared(&self) -> Option<JsValue> {
        let options = FilePropertyBag::new();
        let name = match self.name.strip_suffix(".json") {
            Some(stem) => {
                options.set_type("text/plain");
                format!("{stem}.txt")
            }
            None => {
                options.set_type(&self.blob.type_());
                self.name.clone()
            }
        };
        let file = File::new_with_blob_sequence_and_options(&Array::of1(&self.blob), &name, &options).ok()?;
        let data = Object::new();
        Reflect::set(&data, &"files".into(), &Array::of1(&file)).ok()?;
        Some(data.into())
    }

    /// Would the share sheet take it?
    pub fn can_share(&self) -> bool {
        self.shared().and_then(|data| call("canShare", &data)).is_some_and(|answer| answer.is_truthy())
    }

    /// Opens the share sheet; to be called in answer to a touch. True when the file was given to another app.
    pub async fn share(&self) -> bool {
        let shared = self.shared().and_then(|data| call("share", &data)?.dyn_into::<Promise>().ok());
        match shared {
            Some(shared) => JsFuture::from(shared).await.is_ok(),
            None => false,
        }
    }
}

fn call(name: &str, data: &JsValue) -> Option<JsValue> {
    let navigator = web_sys::window()?.navigator();
    let function: Function = Reflect::get(&navigator, &name.into()).ok()?.dyn_into().ok()?;
    function.call1(&navigator, data).ok()
}

/// Opens the share sheet with a link; to be called in answer to a touch. True when it was given to another app.
pub async fn share_link(title: &str, link: &str) -> bool {
    let data = Object::new();
    for (key, value) in [("title", title), ("url", link)] {
        let _ = Reflect::set(&data, &key.into(), &value.into());
    }
    match call("share", &data).and_then(|shared| shared.dyn_into::<Promise>().ok()) {
        Some(shared) => JsFuture::from(shared).await.is_ok(),
        None => false,
    }
}

/// Has the browser a share sheet for links?
pub fn can_share_links() -> bool {
    web_sys::window().is_some_and(|window| Reflect::has(&window.navigator(), &"share".into()).unwrap_or(false))
}
