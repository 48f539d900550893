//! What explains a large bus, behind the picture with the verdict.

use crate::app::parts::stretches::Stretches;
use crate::core::job::Observation;
use crate::core::job::trace::Explaining;
use crate::core::site::Site;
use leptos::prelude::*;

/// Works out what explains the readings of a bus where `open` says that it is not known yet, and then sets `explained`.
pub fn explain_later(open: Memo<Option<(Site, Vec<Observation>)>>, explained: RwSignal<()>) {
    let stretches = Stretches::new();
    Effect::new(move |_| match open.get() {
        None => stretches.stop(),
        Some((site, observations)) => {
            let mut explaining = None;
            stretches.begin(move || {
                // Made with the first stretch: laying out a large bus is a part of the work.
                let is_known = explaining.get_or_insert_with(|| Explaining::new(&site, &observations)).go_on();
                if is_known {
                    explained.try_set(());
                }
                is_known
            });
        }
    });
}
