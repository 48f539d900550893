//! How fast a job becomes a link and a link a job.
//!
//!     cargo bench --no-default-features --bench link
//!
//! The job has four modules, forty readings and a note, as in `tests/link/sizes.rs`: it is the kept link of that name.

use divan::{Bencher, black_box};
use sixty_ohms::core::job::Job;
use sixty_ohms::core::job::code::code;
use sixty_ohms::core::job::link::{Leave, Opened, Packed, open, pack};
use sixty_ohms::core::job::merge::{Choices, merge};

fn main() {
    divan::main();
}

fn job() -> Job {
    let golden: serde_json::Value =
        serde_json::from_str(include_str!("../tests/link/golden/forty-readings.json")).expect("it is JSON");
    match open(golden["letters"].as_str().expect("it has letters")) {
        Ok(Opened::Job(job, _)) => *job,
        other => panic!("{other:?}"),
    }
}

fn packed() -> Packed {
    pack(&job(), &Leave::default())
}

#[divan::bench]
fn pack_job(bencher: Bencher<'_, '_>) {
    let job = job();
    bencher.bench(|| pack(black_box(&job), &Leave::default()));
}

#[divan::bench]
fn letters(bencher: Bencher<'_, '_>) {
    let packed = packed();
    bencher.bench(|| black_box(&packed).letters());
}

#[divan::bench]
fn digits(bencher: Bencher<'_, '_>) {
    let packed = packed();
    bencher.bench(|| black_box(&packed).digits());
}

#[divan::bench]
fn open_link(bencher: Bencher<'_, '_>) {
    let link = packed().link("https://example.org/ohms/");
    bencher.bench(|| open(black_box(&link)));
}

#[divan::bench]
fn draw_code(bencher: Bencher<'_, '_>) {
    let packed = packed();
    bencher.bench(|| code("https://example.org/ohms/", black_box(&packed)));
}

#[divan::bench]
fn merge_with_itself(bencher: Bencher<'_, '_>) {
    let job = job();
    bencher.bench(|| merge(black_box(&job), black_box(&job), &Choices::new()));
}
