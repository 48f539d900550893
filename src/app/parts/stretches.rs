//! Work that waits until the picture stands, and lets a key through.

use leptos::prelude::*;
use std::time::Duration;

/// A picture needs a frame of a screen, 17 ms, to be seen (common practice, no source).
const ON_ITS_WAY: Duration = Duration::from_millis(20);

/// Some work that is done a stretch at a time, once the picture stands that shows what was just entered. It ends when a
/// stretch says that all is done, or when newer work of the same kind begins.
#[derive(Clone, Copy)]
pub struct Stretches(StoredValue<u32>);

impl Stretches {
    pub fn new() -> Stretches {
        Stretches(StoredValue::new(0))
    }

    /// What was begun before ends.
    pub fn stop(self) {
        self.0.update_value(|turn| *turn += 1);
    }

    /// Begins with `work`.
    pub fn begin(self, work: impl FnMut() -> bool + 'static) {
        self.stop();
        let mine = self.0.get_value();
        request_animation_frame(move || self.go_on(mine, ON_ITS_WAY, work));
    }

    fn go_on(self, mine: u32, after: Duration, mut work: impl FnMut() -> bool + 'static) {
        let stretch = move || {
            if self.0.try_get_value() == Some(mine) && !work() {
                self.go_on(mine, Duration::ZERO, work);
            }
        };
        set_timeout(stretch, after);
    }
}
