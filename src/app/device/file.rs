//! Files that a person opens: read in slices, so that a large one neither fills the memory nor stops the page.

use js_sys::{Array, Promise, Uint8Array};
use wasm_bindgen::JsCast;
use wasm_bindgen_futures::JsFuture;
use web_sys::{Blob, Event, HtmlInputElement};

/// Bytes of one slice: read in a few hundredths of a second on a phone.
const SLICE: f64 = 262_144.0;

/// Something to read, with its name.
#[derive(Clone)]
pub struct Readable {
    pub name: String,
    blob: Blob,
}

/// How reading ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum End {
    Whole,
    Stopped,
    /// The browser did not give the bytes: the file was changed, moved, or lies where it may not be read.
    Failed,
}

impl Readable {
    /// The file that was chosen, and the field made ready for the same one again.
    pub fn chosen(event: &Event) -> Option<Readable> {
        let input: HtmlInputElement = event.target()?.dyn_into().ok()?;
        let file = input.files()?.get(0)?;
        input.set_value("");
        Some(Readable { name: file.name(), blob: file.into() })
    }

    /// All files that were chosen, and the field made ready for the same ones again.
    pub fn all_chosen(event: &Event) -> Vec<Readable> {
        let input = event.target().and_then(|target| target.dyn_into::<HtmlInputElement>().ok());
        let Some((input, files)) = input.and_then(|input| input.files().map(|files| (input, files))) else {
            return Vec::new();
        };
        let files: Vec<_> = (0..files.length()).filter_map(|index| files.get(index)).collect();
        input.set_value("");
        files.into_iter().map(|file| Readable { name: file.name(), blob: file.into() }).collect()
    }

    pub fn blob(&self) -> &Blob {
        &self.blob
    }

    /// A text as if it were a file.
    pub fn text(name: &str, text: &str) -> Option<Readable> {
        let blob = Blob::new_with_str_sequence(&Array::of1(&text.into())).ok()?;
        Some(Readable { name: name.into(), blob })
    }

    /// Does the browser take it for a picture?
    pub fn is_picture(&self) -> bool {
        self.blob.type_().starts_with("image/")
    }

    /// The text of the first code in a picture; none where there is none, or the browser cannot read codes.
    pub async fn code(&self) -> Option<String> {
        super::scan::read_picture(&self.blob).await
    }

    /// Bytes.
    pub fn size(&self) -> f64 {
        self.blob.size()
    }

    /// Reads slice by slice; between two of them the page draws and answers. `read` gets the bytes and the share that is
    /// read, 0 to 1, and says whether to go on.
    pub async fn stream(&self, mut read: impl FnMut(&[u8], f64) -> bool) -> End {
        let size = self.size();
        let mut from = 0.0;
        while from < size {
            let to = (from + SLICE).min(size);
            let Some(bytes) = self.slice(from, to).await else { return End::Failed };
            from = to;
            if !read(&bytes, from / size) {
                return End::Stopped;
            }
            pause().await;
        }
        End::Whole
    }

    /// All bytes, but no more than so many.
    pub async fn whole(&self, most: usize) -> Option<Vec<u8>> {
        self.slice(0.0, self.size().min(most as f64)).await
    }

    async fn slice(&self, from: f64, to: f64) -> Option<Vec<u8>> {
        let slice = self.blob.slice_with_f64_and_f64(from, to).ok()?;
        let buffer = JsFuture::from(slice.array_buffer()).await.ok()?;
        Some(Uint8Array::new(&buffer).to_vec())
    }
}

/// Gives the page a turn.
async fn pause() {
    let turn = Promise::new(&mut |done, _| {
        if let Some(window) = web_sys::window() {
            let _ = window.set_timeout_with_callback(&done);
        }
    });
    let _ = JsFuture::from(turn).await;
}
