//! Pictures made smaller on the phone. What comes out is a new JPEG of the picture points alone: place, time and camera
//! that the file carried (EXIF) are not in it.

use crate::core::job::photo::fitted;
use js_sys::{Promise, Uint8Array};
use wasm_bindgen::closure::Closure;
use wasm_bindgen::{JsCast, JsValue};
use wasm_bindgen_futures::JsFuture;
use web_sys::{Blob, CanvasRenderingContext2d, HtmlCanvasElement, ImageBitmap};

/// How much of a picture JPEG keeps, 0 to 1: labels stay readable (common practice, no source).
const QUALITY: f64 = 0.8;

/// A picture as it is kept.
pub struct Small {
    pub width: u32,
    pub height: u32,
    pub jpeg: Vec<u8>,
}

/// Reads a picture of any kind that the browser knows, upright. None where it cannot be read as one.
pub async fn shrink(file: &Blob) -> Option<Small> {
    let window = web_sys::window()?;
    let bitmap = JsFuture::from(window.create_image_bitmap_with_blob(file).ok()?).await.ok()?;
    let bitmap: ImageBitmap = bitmap.dyn_into().ok()?;
    let (width, height) = fitted(bitmap.width(), bitmap.height());
    let canvas: HtmlCanvasElement = window.document()?.create_element("canvas").ok()?.dyn_into().ok()?;
    canvas.set_width(width);
    canvas.set_height(height);
    let context: CanvasRenderingContext2d = canvas.get_context("2d").ok()??.dyn_into().ok()?;
    // JPEG knows no see-through: a label drawn on nothing gets white paper.
    context.set_fill_style_str("#fff");
    context.fill_rect(0.0, 0.0, f64::from(width), f64::from(height));
    context.draw_image_with_image_bitmap_and_dw_and_dh(&bitmap, 0.0, 0.0, f64::from(width), f64::from(height)).ok()?;
    bitmap.close();
    let blob = jpeg_of(&canvas).await?;
    let buffer = JsFuture::from(blob.array_buffer()).await.ok()?;
    Some(Small { width, height, jpeg: Uint8Array::new(&buffer).to_vec() })
}

async fn jpeg_of(canvas: &HtmlCanvasElement) -> Option<Blob> {
    let made = Promise::new(&mut |done, refuse| {
        let take = Closure::once_into_js(move |blob: JsValue| {
            let _ = done.call1(&JsValue::NULL, &blob);
        });
        let asked = canvas.to_blob_with_type_and_encoder_options(take.unchecked_ref(), "image/jpeg", &QUALITY.into());
        if asked.is_err() {
            let _ = refuse.call0(&JsValue::NULL);
        }
    });
    // A browser that cannot write JPEG would give another kind.
    JsFuture::from(made).await.ok()?.dyn_into::<Blob>().ok().filter(|blob| blob.type_() == "image/jpeg")
}
