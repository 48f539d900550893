//! How fast the alarms are found.
//!
//!     cargo bench --no-default-features --bench search

use divan::{Bencher, black_box};
use sixty_ohms::content::built_in;
use sixty_ohms::content::search::Search;

fn main() {
    divan::main();
}

/// What a key costs, when the text before it is there: a word, a slip, a compound, a whole line, a code.
#[divan::bench(args = ["lo temp chg", "undervolatge", "Zellunterspannung", "bat", "cannot connect voltage diference too high", "E 0x0010"])]
fn one_key(bencher: Bencher, typed: &str) {
    let content = built_in();
    let search = Search::new(&content.language);
    bencher.bench_local(|| search.find(black_box(typed)).len());
}

/// Laying the alarms out, once.
#[divan::bench]
fn laying_out(bencher: Bencher) {
    let content = built_in();
    bencher.bench_local(|| {
        black_box(Search::new(black_box(&content.language)));
    });
}
