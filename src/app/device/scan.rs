//! Reading codes with the browser's own detector, from a picture or through the camera. Where the browser has none, the
//! phone's camera app reads them.

use js_sys::{Array, Function, Object, Promise, Reflect};
use wasm_bindgen::{JsCast, JsValue};
use wasm_bindgen_futures::JsFuture;
use web_sys::{HtmlVideoElement, MediaStream, MediaStreamConstraints, MediaStreamTrack};

/// Between two looks through the camera, ms (common practice, no source).
const LOOK: i32 = 200;

fn detector() -> Option<JsValue> {
    let class: Function = Reflect::get(&js_sys::global(), &"BarcodeDetector".into()).ok()?.dyn_into().ok()?;
    let options = Object::new();
    Reflect::set(&options, &"formats".into(), &Array::of1(&"qr_code".into())).ok()?;
    Reflect::construct(&class, &Array::of1(&options)).ok()
}

/// Has the browser a detector?
pub fn can() -> bool {
    detector().is_some()
}

/// The text of the first code in a picture or a video's present frame.
async fn read(source: &JsValue) -> Option<String> {
    let detector = detector()?;
    let detect: Function = Reflect::get(&detector, &"detect".into()).ok()?.dyn_into().ok()?;
    let found: Promise = detect.call1(&detector, source).ok()?.dyn_into().ok()?;
    let found: Array = JsFuture::from(found).await.ok()?.dyn_into().ok()?;
    Reflect::get(&found.get(0), &"rawValue".into()).ok()?.as_string()
}

/// The text of the first code in a picture file.
pub async fn read_picture(blob: &web_sys::Blob) -> Option<String> {
    let bitmap = web_sys::window()?.create_image_bitmap_with_blob(blob).ok()?;
    let bitmap = JsFuture::from(bitmap).await.ok()?;
    read(&bitmap).await
}

/// The camera, on as long as this lives.
pub struct Camera(MediaStream);

impl Camera {
    /// Opens the camera that looks away from the person, and shows it in the element. None where it is refused.
    pub async fn open(video: &HtmlVideoElement) -> Option<Camera> {
        let devices = web_sys::window()?.navigator().media_devices().ok()?;
        let constraints = MediaStreamConstraints::new();
        let away = Object::new();
        Reflect::set(&away, &"facingMode".into(), &"environment".into()).ok()?;
        constraints.set_video(&away);
        let stream = JsFuture::from(devices.get_user_media_with_constraints(&constraints).ok()?).await.ok()?;
        let stream: MediaStream = stream.dyn_into().ok()?;
        let camera = Camera(stream.clone());
        video.set_src_object(Some(&stream));
        let _ = JsFuture::from(video.play().ok()?).await;
        Some(camera)
    }

    /// Looks until a code is seen; None when `goes_on` says no.
    pub async fn look(&self, video: &HtmlVideoElement, goes_on: impl Fn() -> bool) -> Option<String> {
        while goes_on() {
            if let Some(text) = read(video).await {
                return Some(text);
            }
            super::page::pause(LOOK).await;
        }
        None
    }
}

impl Drop for Camera {
    fn drop(&mut self) {
        for track in self.0.get_tracks() {
            track.unchecked_into::<MediaStreamTrack>().stop();
        }
    }
}
