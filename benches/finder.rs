//! How fast the fault finder is.
//!
//!     cargo bench --no-default-features --bench finder

use divan::{Bencher, black_box};
use sixty_ohms::content::built_in;
use sixty_ohms::core::faults::finder::physics::Shape;
use sixty_ohms::core::faults::finder::{Advice, Event, Finder};
use sixty_ohms::core::site::plain::plain;
use sixty_ohms::core::units::Metres;

fn main() {
    divan::main();
}

/// Two in series, so many strings, with a charger: all faults and all checks of the model.
fn shape(strings: u32) -> Shape {
    let mut draft = plain(2 * strings, Metres::of(6.0));
    draft.link_length = Some(Metres::of(0.7));
    (draft.series, draft.parallel) = (Some(2), Some(strings));
    draft.module.as_mut().expect("a plain draft has a module").most_in_series = 4;
    let mut shape = Shape::of(&draft.site().expect("a plain draft is a site"));
    shape.charger = true;
    shape
}

/// The model of a site: its networks and sums, and all hypotheses.
#[divan::bench(args = [2, 8])]
fn site(bencher: Bencher, strings: u32) {
    let content = built_in();
    let shape = shape(strings);
    bencher.bench_local(|| Finder::new(&content.finder, "boat", black_box(shape.clone())).engine.prior.len());
}

/// Where a story stands after so many answers, with the next check: each the quiet outcome of what was advised.
#[divan::bench(args = [0, 5, 15, 30])]
fn next_check(bencher: Bencher, answers: usize) {
    let content = built_in();
    let finder = Finder::new(&content.finder, "boat", shape(3));
    let mut events = vec![Event::Seen { check: "display-data".into(), outcome: "blank".into() }];
    for _ in 1..answers {
        if let Advice::Look(next) = finder.report(&events).advice {
            let outcome = next.outcomes[0].outcome.clone();
            events.push(Event::Seen { check: next.check, outcome });
        }
    }
    events.truncate(answers);
    bencher.bench_local(|| finder.report(black_box(&events)));
}
