//! How long links get.
//!
//!     cargo test --no-default-features --test link sizes -- --nocapture

use crate::jobs;
use sixty_ohms::core::job::Job;
use sixty_ohms::core::job::link::{Leave, pack};

/// As long as the address of a real host.
const ADDRESS: &str = "https://example.org/ohms/";

fn length(what: &str, job: &Job) -> usize {
    let packed = pack(job, &Leave::default());
    let length = packed.link(ADDRESS).chars().count();
    println!("{what}: {} bytes, link of {length} characters", packed.payload.len());
    length
}

#[test]
fn forty_readings_and_a_note_fit_a_short_link() {
    assert!(
        length("4 modules, 40 readings, a note", &jobs::with_readings(jobs::draft("otter"), 40, jobs::NOTE)) < 1500
    );
    length("the same, all equipment unknown", &jobs::with_readings(jobs::foreign(), 40, jobs::NOTE));
    length("Lark, complete", &jobs::lark());
    length("Lark, site alone", &Job { site: jobs::draft("lark"), ..Job::default() });
}
