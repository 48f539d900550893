//! The memory that is in use, and the most that was.

use std::alloc::{GlobalAlloc, Layout, System};
use std::sync::atomic::{AtomicUsize, Ordering::Relaxed};

pub struct Counted;

static NOW: AtomicUsize = AtomicUsize::new(0);
static PEAK: AtomicUsize = AtomicUsize::new(0);

fn more(bytes: usize) {
    let now = NOW.fetch_add(bytes, Relaxed) + bytes;
    PEAK.fetch_max(now, Relaxed);
}

// SAFETY: every call goes to the system's allocator as it came; the counts touch no memory of its.
unsafe impl GlobalAlloc for Counted {
    unsafe fn alloc(&self, layout: Layout) -> *mut u8 {
        more(layout.size());
        unsafe { System.alloc(layout) }
    }

    unsafe fn dealloc(&self, at: *mut u8, layout: Layout) {
        NOW.fetch_sub(layout.size(), Relaxed);
        unsafe { System.dealloc(at, layout) }
    }

    unsafe fn realloc(&self, at: *mut u8, layout: Layout, size: usize) -> *mut u8 {
        // As if both were there at once, which they may be.
        more(size);
        let moved = unsafe { System.realloc(at, layout, size) };
        NOW.fetch_sub(layout.size(), Relaxed);
        moved
    }
}

/// What a piece of work answers, and the most bytes it held at once. Other threads must rest meanwhile.
pub fn peak<T>(work: impl FnOnce() -> T) -> (T, usize) {
    let before = NOW.load(Relaxed);
    PEAK.store(before, Relaxed);
    let answer = work();
    (answer, PEAK.load(Relaxed).saturating_sub(before))
}
