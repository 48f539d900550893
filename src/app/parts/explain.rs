//! What is slow, behind the picture and in stretches that let a key through.

use crate::core::job::Observation;
use crate::core::job::trace::Explaining;
use crate::core::site::Site;
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

/// Works out what explains the readings of a bus where `open` says that it is not known yet, and then sets `explained`.
pub fn explain_later(open: Memo<Option<(Site, Vec<Observation>)>>, explained: RwSignal<()>) {
    let stretches = Stretches::new();
    Effect::new(move |_| match open.get() {
        None => stretches.stop(),
        Some((site, observations)) => {
            let mut explaining = Explaining::new(&site, &observations);
            stretches.begin(move || {
                let is_known = explaining.go_on();
                if is_known {
                    explained.try_set(());
                }
                is_known
            });
        }
    });
}
