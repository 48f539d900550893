//! Holds packs against the rules of the app: for their authors, and for an author's own checks.
//!
//!     cargo run --no-default-features --example packs -- FILE…
//!     cargo run --no-default-features --example packs -- --built-in [en|de]      the built-in content as a pack
//!
//! The files are put to the built-in content in their order, as on a phone. Each mistake is printed as `FILE:LINE: place:
//! reason`; the exit code is 1 when there is any, 2 when a file cannot be read.

use sixty_ohms::content::pack::{self, Pack, Together, brings, level, pairs};
use sixty_ohms::content::{Tongue, built_in_as};
use std::process::ExitCode;

fn main() -> ExitCode {
    let given: Vec<String> = std::env::args().skip(1).collect();
    match given.first().map(String::as_str) {
        None | Some("--help") => {
            println!("packs FILE…              holds packs against the rules of the app");
            println!("packs --built-in [en|de] prints the built-in content as a pack");
            ExitCode::SUCCESS
        }
        Some("--built-in") => {
            let tongue = given.get(1).and_then(|tag| Tongue::of(tag)).unwrap_or_default();
            let content = built_in_as(tongue);
            print!("{}", Pack::of(&content, "built-in", "Built-in content", "Sixty Ohms", tongue.tag()).text());
            ExitCode::SUCCESS
        }
        Some(_) => hold(&given),
    }
}

fn hold(files: &[String]) -> ExitCode {
    let mut together = Together::of(built_in_as(Tongue::English));
    let mut wrong = false;
    for file in files {
        let text = match std::fs::read_to_string(file) {
            Ok(text) => text,
            Err(error) => {
                eprintln!("{file}: {error}");
                return ExitCode::from(2);
            }
        };
        match pack::open(&together, &text) {
            Ok((pack, with)) => {
                together = with;
                say(file, &pack, &together);
            }
            Err(mistakes) => {
                wrong = true;
                mistakes.iter().for_each(|mistake| println!("{file}:{mistake}"));
            }
        }
    }
    ExitCode::from(u8::from(wrong))
}

/// What the pack brings, which of its pairs have no path, and how its texts read.
fn say(file: &str, pack: &Pack, together: &Together) {
    println!("{file}: \"{}\" ({}), by {}, in {}", pack.title, pack.key, pack.by, pack.language);
    for (part, names) in brings::brings(pack) {
        println!("  {} ({}): {}", part.key(), names.len(), names.join("; "));
    }
    let equipment = &pack.equipment;
    let modules = equipment.modules.iter().map(|item| item.key.clone());
    let own: Vec<String> = modules.chain(equipment.monitors.iter().map(|item| item.key.clone())).collect();
    if !own.is_empty() {
        for pair in pairs::pairs(&together.content, &own) {
            println!("  {} with {}: {}", pair.module, pair.monitor, path(&pair));
        }
    }
    match level::lix(level::texts(pack).iter().map(String::as_str)) {
        Some(lix) => println!("  reading level: LIX {lix:.0} (below 40 easy, to 50 medium, above hard)"),
        None => println!("  no texts to read"),
    }
}

fn path(pair: &pairs::Pair) -> String {
    let ports = pair.ports.iter().map(|(port, obstacles)| match obstacles.as_slice() {
        [] => format!("{port} goes"),
        obstacles => format!("{port} does not: {}", obstacles.join(" ")),
    });
    ports.collect::<Vec<_>>().join("; ")
}
