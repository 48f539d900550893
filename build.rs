//! Packs content/ into the app. A wrong file stops the build and names file, line and reason.

// The same files as in the library: the build must know what the core asks of the content.
#[allow(dead_code)]
#[path = "src/core/mod.rs"]
mod core;
#[allow(dead_code)]
mod content {
    #[path = "../src/content/equipment.rs"]
    pub mod equipment;
    #[path = "../src/content/folder.rs"]
    pub mod folder;
    #[path = "../src/content/late.rs"]
    pub mod late;
    #[path = "../src/content/rules.rs"]
    pub mod rules;
    #[path = "../src/content/schema.rs"]
    pub mod schema;
    #[path = "../src/content/tongue.rs"]
    pub mod tongue;
}

use std::fmt::Write;
use std::path::{Path, PathBuf};

fn main() {
    println!("cargo::rerun-if-changed=content");
    println!("cargo::rerun-if-changed=src/core");
    println!("cargo::rerun-if-changed=src/content");
    println!("cargo::rerun-if-changed=build.rs");
    let out = PathBuf::from(std::env::var("OUT_DIR").expect("cargo sets OUT_DIR"));
    let mut word_keys = Vec::new();
    for tongue in content::tongue::Tongue::ALL {
        let read = match content::folder::read(Path::new("content"), tongue) {
            Ok(read) => read,
            Err(mistakes) => {
                for mistake in mistakes {
                    println!("cargo::error={mistake}");
                }
                std::process::exit(1);
            }
        };
        let (first, rest) = read.content.parted();
        for (name, part) in [("first", first), ("rest", rest)] {
            let blob = serde_json::to_string(&part).expect("content is plain data");
            let file = out.join(format!("content-{}-{name}.json", tongue.tag()));
            std::fs::write(file, blob).expect("OUT_DIR can be written");
        }
        word_keys = read.word_keys;
    }

    println!("cargo::rustc-env=OHMS_SAYS={:x}", says());
    match content::folder::edition(Path::new("content")) {
        Ok(day) => println!("cargo::rustc-env=OHMS_EDITION={day}"),
        Err(mistake) => {
            println!("cargo::error={mistake}");
            std::process::exit(1);
        }
    }

    let mut words = String::new();
    for (index, key) in word_keys.iter().enumerate() {
        let name = key.replace(['.', '-'], "_").to_uppercase();
        let _ = writeln!(words, "/// `{key}`\npub const {name}: Word = Word({index});");
    }
    std::fs::write(out.join("words.rs"), words).expect("OUT_DIR can be written");
}

/// One number for all that core and content say: what was worked out by another version is worked out anew.
fn says() -> u64 {
    let mut folders = ["content", "src/core", "src/content"].map(PathBuf::from).to_vec();
    let mut files = Vec::new();
    while let Some(folder) = folders.pop() {
        for entry in std::fs::read_dir(folder).into_iter().flatten().flatten() {
            let path = entry.path();
            if path.is_dir() { folders.push(path) } else { files.push(path) }
        }
    }
    files.sort();
    let all: String = files.iter().filter_map(|file| std::fs::read_to_string(file).ok()).collect();
    core::job::brief::print(&all)
}
