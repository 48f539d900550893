//! The content folder: what is there is right, and what is wrong is named with file, line and reason.

use sixty_ohms::core;

mod content {
    pub use sixty_ohms::content::schema;
}

// The reader is part of the build, not of the library: the same file again.
#[allow(dead_code)]
#[path = "../src/content/read.rs"]
mod reader;

use reader::{Mistake, read};
use std::fs;
use std::path::{Path, PathBuf};

/// A copy of the content that a test may spoil.
struct Copy(PathBuf);

impl Copy {
    fn new(name: &str) -> Copy {
        let to = PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join(name);
        let _ = fs::remove_dir_all(&to);
        copy(Path::new("content"), &to);
        Copy(to)
    }

    fn spoil(&self, file: &str, from: &str, to: &str) {
        let path = self.0.join(file);
        let text = fs::read_to_string(&path).unwrap();
        assert!(text.contains(from), "{file} does not contain {from:?}");
        fs::write(path, text.replacen(from, to, 1)).unwrap();
    }

    fn mistakes(&self) -> Vec<Mistake> {
        read(&self.0).err().unwrap_or_default()
    }
}

fn copy(from: &Path, to: &Path) {
    fs::create_dir_all(to).unwrap();
    for entry in fs::read_dir(from).unwrap() {
        let entry = entry.unwrap();
        let target = to.join(entry.file_name());
        if entry.file_type().unwrap().is_dir() {
            copy(&entry.path(), &target);
        } else {
            fs::copy(entry.path(), target).unwrap();
        }
    }
}

fn check(name: &str, file: &str, from: &str, to: &str, expected: &str) {
    let copy = Copy::new(name);
    copy.spoil(file, from, to);
    let mistakes = copy.mistakes();
    let found = mistakes.iter().find(|mistake| mistake.file == file && mistake.reason.contains(expected));
    let found = found.unwrap_or_else(|| panic!("{expected:?} is not among {mistakes:#?}"));
    assert!(found.line > 0, "no line: {found}");
}

#[test]
fn the_content_is_right() {
    assert_eq!(read(Path::new("content")).err(), None);
}

#[test]
fn a_misspelt_key_is_named_with_its_line() {
    check("misspelt", "equipment/modules/plain-12-230.toml", "capacity-Ah", "capacitty-Ah", "unknown field");
}

#[test]
fn a_figure_out_of_range_is_named() {
    check("range", "equipment/leads/patch-bus.toml", "0.084", "84", "conductor resistance");
}

#[test]
fn a_step_without_words_is_named() {
    check("words", "walk.toml", "key = \"loads-off\"", "key = \"loads-of\"", "has no words");
}

#[test]
fn a_placeholder_that_nothing_fills_is_named() {
    check("placeholder", "en/because.toml", "{reading} fits no whole", "{raeding} fits no whole", "has no figure");
    check(
        "step-placeholder",
        "en/steps.toml",
        "Set the port marked {port}",
        "Set the port marked {pot}",
        "nothing fills",
    );
}

#[test]
fn a_source_that_is_not_there_is_named() {
    check(
        "source",
        "en/guides/why-two-terminators.toml",
        "iso-11898-2-2003",
        "iso-11898-2-1603",
        "is not in sources.toml",
    );
}

#[test]
fn a_demo_that_is_no_site_is_named() {
    check("demo", "demo.toml", "module = \"plain-12-105-i\"", "module = \"plain-12-230\"", "is no site");
}

#[test]
fn all_mistakes_come_in_one_run() {
    let copy = Copy::new("several");
    copy.spoil("en/because.toml", "volts-first =", "volts-frist =");
    copy.spoil("en/problems.toml", "no-port =", "no-prot =");
    assert!(copy.mistakes().len() >= 3, "{:?}", copy.mistakes());
}

#[test]
fn a_connector_that_is_not_drawn_is_named() {
    check("connector", "equipment/modules/plain-12-230.toml", "\"rj45\"", "\"rj54\"", "is not in connectors.toml");
    check("connector-pin", "equipment/monitors/window-5.toml", "high-pin = 4", "high-pin = 6", "has no pin 6");
    check("connector-role", "connectors.toml", "role = \"high\"", "role = \"free\"", "has no pin for \"high\"");
    check("connector-twice", "connectors.toml", "{ n = 2,", "{ n = 1,", "has a pin number twice");
    check("connector-outside", "connectors.toml", "at = [37, 34]", "at = [370, 34]", "lies outside the drawing");
    check("connector-source", "connectors.toml", "\"cia-303-1\"", "\"cia-404\"", "is not in sources.toml");
}

#[test]
fn a_protocol_that_is_not_known_is_named() {
    check("protocol", "equipment/modules/plain-24-100.toml", "\"rv-c\"", "\"rv-d\"", "is not in protocols.toml");
    check("protocol-bits", "protocols.toml", "identifier-bits = [29]", "identifier-bits = [27]", "have 11 or 29 bits");
    check("protocol-source", "protocols.toml", "\"rv-c-overview\"", "\"rv-c-overvue\"", "is not in sources.toml");
}

#[test]
fn an_alarm_that_is_not_whole_is_named() {
    let alarm = |name| format!("en/alarms/{name}.toml");
    let cold = alarm("too-cold");
    check("code-twice", &cold, "sunspec-event = [3, 4]", "sunspec-event = [3, 4, 1]", "has several alarms");
    check("code-none", &cold, "sunspec-event = [3, 4]", "sunspec-event = [3, 4, 99]", "there is no code");
    check("code-list", &cold, "sunspec-event = [3, 4]", "sunspec-envent = [3, 4]", "unknown variant");
    check("near", &cold, "\"too-cold-charging\"", "\"too-cold-chargin\"", "there is no other alarm");
    check("no-way", &cold, "ways = [\"numbers\"]", "ways = []", "\"ways\" is empty");
    check("no-stop", &alarm("bank-full"), "stop = \"", "stop = \"\" #", "has no text");
    check("word-twice", "en/search.toml", "\"kalt\"", "\"hot\"", "stands for");
    let copy = Copy::new("code-missing");
    copy.spoil(&cold, "sunspec-event = [3, 4]", "sunspec-event = [3]");
    let mistakes = copy.mistakes();
    assert!(
        mistakes.iter().any(|mistake| mistake.reason.contains("no alarm has the code sunspec-event 4")),
        "{mistakes:?}"
    );
}

#[test]
fn a_symptom_without_words_is_named() {
    check("symptom", "en/symptoms.toml", "[same-address]", "[same-adress]", "there is no symptom");
}
