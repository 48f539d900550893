//! House rules that a compiler does not know.

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

fn files(folder: &str, endings: &[&str]) -> Vec<(PathBuf, String)> {
    fn walk(folder: &Path, found: &mut Vec<PathBuf>) {
        for entry in fs::read_dir(folder).unwrap().flatten() {
            let path = entry.path();
            let name = entry.file_name();
            if path.is_dir() {
                if name != "node_modules" {
                    walk(&path, found);
                }
            } else {
                found.push(path);
            }
        }
    }
    let mut found = Vec::new();
    walk(Path::new(folder), &mut found);
    found
        .into_iter()
        .filter(|path| endings.iter().any(|ending| path.to_string_lossy().ends_with(ending)))
        .filter_map(|path| fs::read_to_string(&path).ok().map(|text| (path, text)))
        .collect()
}

const WEB: &[&str] = &["leptos", "wasm_bindgen", "web_sys", "js_sys", "gloo_storage", "idb"];

#[test]
fn core_and_content_name_no_web_crate() {
    for folder in ["src/core", "src/content"] {
        for (path, text) in files(folder, &[".rs"]) {
            for name in WEB {
                assert!(!text.contains(&format!("{name}::")), "{} uses {name}", path.display());
            }
            if folder == "src/core" {
                for name in ["crate::content", "crate::app", "std::time", "std::fs", "std::net"] {
                    assert!(!text.contains(name), "{} uses {name}", path.display());
                }
            } else {
                assert!(!text.contains("crate::app"), "{} uses the app", path.display());
            }
        }
    }
}

#[test]
fn without_the_app_no_web_crate_is_built() {
    let tree = Command::new(env!("CARGO"))
        .args(["tree", "--no-default-features", "--edges", "normal", "--prefix", "none", "--offline"])
        .output()
        .expect("cargo runs");
    assert!(tree.status.success(), "{}", String::from_utf8_lossy(&tree.stderr));
    let tree = String::from_utf8(tree.stdout).unwrap();
    assert!(tree.contains("serde_json"), "the tree was not read: {tree}");
    for name in WEB {
        let package = name.replace('_', "-");
        assert!(
            !tree.lines().any(|line| line.starts_with(&format!("{package} "))),
            "{package} is in the tree:\n{tree}"
        );
    }
}

#[test]
fn no_file_of_the_house_is_too_long() {
    for folder in ["src", "tests", "examples", "tools"] {
        for (path, text) in files(folder, &[".rs", ".mjs"]) {
            let lines = text.lines().count();
            assert!(lines <= 600, "{} has {lines} lines", path.display());
        }
    }
}

#[test]
fn every_word_of_the_screens_is_used() {
    let text = fs::read_to_string("content/en/words.toml").unwrap();
    let words: toml::Table = toml::from_str(&text).unwrap();
    let source: String = files("src", &[".rs"]).into_iter().map(|(_, text)| text).collect();
    let used: BTreeSet<&str> = source.split(|c: char| !c.is_ascii_alphanumeric() && c != '_').collect();
    for (section, words) in &words {
        for key in words.as_table().unwrap().keys() {
            let name = format!("{section}_{key}").replace('-', "_").to_uppercase();
            assert!(used.contains(name.as_str()), "content/en/words.toml: [{section}] {key} is not used");
        }
    }
}

#[test]
fn pages_hold_no_words_of_their_own() {
    for (path, text) in files("src/app", &[".rs"]) {
        // The page of parts is for looking at, not for people in a locker.
        if path.ends_with("pages/parts.rs") || path.ends_with("screen.rs") {
            continue;
        }
        for (number, line) in text.lines().enumerate() {
            let code = line.split("//").next().unwrap_or(line);
            for piece in code.split('"').skip(1).step_by(2) {
                let words = piece.split(' ').filter(|word| word.len() > 2 && word.chars().all(char::is_alphabetic));
                let starts_large = piece.chars().next().is_some_and(char::is_uppercase);
                let is_sentence = words.count() >= 2 && starts_large;
                assert!(!is_sentence, "{}:{}: \"{piece}\" belongs into content/en", path.display(), number + 1);
            }
        }
    }
}

#[test]
fn the_app_never_calls_anything_safe() {
    for (path, text) in files("content", &[".toml"]) {
        for (number, line) in text.lines().enumerate() {
            let words = line.to_lowercase();
            let words: Vec<&str> = words.split(|c: char| !c.is_alphanumeric()).collect();
            assert!(!words.contains(&"safe"), "{}:{}: says \"safe\"", path.display(), number + 1);
        }
    }
}
