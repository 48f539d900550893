//! The content folder: what is there is right, and what is wrong is named with file, line and reason.

use sixty_ohms::core;

mod content {
    pub use sixty_ohms::content::{rules, schema, tongue};
}

// The reader is part of the build, not of the library: the same file again.
#[allow(dead_code)]
#[path = "../src/content/folder.rs"]
mod folder;

use folder::read;
use sixty_ohms::content::Tongue;
use sixty_ohms::content::rules::Mistake;
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
        read(&self.0, Tongue::English).err().unwrap_or_default()
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
    assert_eq!(read(Path::new("content"), Tongue::English).err(), None);
}

#[test]
fn what_the_app_reads_is_what_was_written() {
    for tongue in Tongue::ALL {
        let written = read(Path::new("content"), tongue).unwrap().content;
        assert!(sixty_ohms::content::built_in_as(tongue) == written, "{tongue:?}");
    }
}

#[test]
fn a_misspelt_key_is_named_with_its_line() {
    check("misspelt", "equipment/modules/plain-12-230.toml", "capacity-Ah", "capacitty-Ah", "unknown field");
}

#[test]
fn the_edition_is_a_day() {
    assert_eq!(folder::edition(Path::new("content")).as_deref(), Ok(sixty_ohms::content::EDITION));
    for (name, wrong) in [("month", "2026-13-26"), ("words", "November"), ("short", "2026-1-2"), ("none", "")] {
        let copy = Copy::new(&format!("edition-{name}"));
        copy.spoil("edition.toml", sixty_ohms::content::EDITION, wrong);
        let mistake = folder::edition(&copy.0).unwrap_err();
        assert!(mistake.reason.contains("is no day") && mistake.line > 0, "{mistake}");
    }
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
        "is not among the sources",
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
    check("connector", "equipment/modules/plain-12-230.toml", "\"rj45\"", "\"rj54\"", "is not among the connectors");
    check("connector-pin", "equipment/monitors/window-5.toml", "high-pin = 4", "high-pin = 6", "has no pin 6");
    check("connector-role", "connectors.toml", "role = \"high\"", "role = \"free\"", "has no pin for \"high\"");
    check("connector-twice", "connectors.toml", "{ n = 2,", "{ n = 1,", "has a pin number twice");
    check("connector-outside", "connectors.toml", "at = [37, 34]", "at = [370, 34]", "lies outside the drawing");
    check("connector-source", "connectors.toml", "\"cia-303-1\"", "\"cia-404\"", "is not among the sources");
}

#[test]
fn a_protocol_that_is_not_known_is_named() {
    check("protocol", "equipment/modules/plain-24-100.toml", "\"rv-c\"", "\"rv-d\"", "is not among the protocols");
    check("protocol-bits", "protocols.toml", "identifier-bits = [29]", "identifier-bits = [27]", "have 11 or 29 bits");
    check("protocol-source", "protocols.toml", "\"rv-c-overview\"", "\"rv-c-overvue\"", "is not among the sources");
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

#[test]
fn a_fault_finder_that_is_not_whole_is_named() {
    let faults = "faults/faults.toml";
    check("finder-proof", faults, "proof = \"wiggle\"", "proof = \"wriggle\"", "which is no check");
    check("finder-proof-blind", faults, "proof = \"wiggle\"", "proof = \"set-rate\"", "proves nothing");
    check("finder-weight", faults, "\"common common uncommon", "\"common comon uncommon", "has no number");
    check("finder-family", faults, "family = \"leads\"", "famly = \"leads\"", "unknown field");
    let display = "faults/checks/display.toml";
    check(
        "finder-row",
        display,
        "\"rest often never never never never\"",
        "\"rest often\"",
        "words for the 6 outcomes",
    );
    check(
        "finder-sum",
        display,
        "\"rest often never never never never\"",
        "\"rest often nearly never never never\"",
        "not to 1",
    );
    check("finder-fault", display, "[\"joint\", \"hot\"]", "[\"joint\", \"hott\"]", "which is no fault");
    check("finder-twice", display, "[\"joint\", \"hot\"]", "[\"joint\", \"layout\"]", "has two rows");
    check("finder-end", display, "ends = [\"hot\"", "ends = [\"hott\"", "has no outcome");
    check(
        "finder-fact",
        "faults/checks/bus.toml",
        "requires = [\"quiet\"]",
        "requires = [\"quite\"]",
        "no check gives",
    );
    check("finder-alarm", "faults/alarms.toml", "[alarm.bank-full]", "[alarm.bank-ful]", "there is no alarm");
    check(
        "finder-symptom",
        "faults/symptoms.toml",
        "display-data = \"dark\"",
        "display-data = \"drak\"",
        "there is no",
    );
    check("finder-words", "en/finder/faults.toml", "[lead-long]", "[lead-lang]", "there is no \"lead-lang\"");
    check(
        "finder-way-out",
        "en/finder/faults.toml",
        "repair = \"Everything off. Plug a 120",
        "repair = \"\" # ",
        "its way out",
    );
}

#[test]
fn a_checklist_that_is_not_whole_is_named() {
    let ticks = "checklists/items/ticks.toml";
    let readings = "checklists/items/readings.toml";
    let yearly = "checklists/yearly.toml";
    check("list-item", yearly, "\"dry-and-clean\"", "\"dry-and-claen\"", "there is no item");
    check("list-twice", yearly, "\"dry-and-clean\"", "\"torque\", \"dry-and-clean\"", "is there twice");
    check("list-part", yearly, "key = \"running\"", "key = \"runing\"", "has no words");
    check("list-field", yearly, "fresh = true", "frehs = true", "unknown field");
    check("item-words", ticks, "key = \"watched\"", "key = \"wached\"", "has no words");
    check("item-source", ticks, "\"ti-can-termination\"", "\"ti-can-terminaton\"", "is not among the sources");
    check("item-unsourced", readings, "sources = [\"iec-62620\"]", "", "names no source");
    check("item-limits", readings, "low = 80, outer-low = 70", "low = 70, outer-low = 80", "are not in order");
    check("item-none", readings, "high = 10, outer-high = 20", "", "names its limits");
    check("item-quantity", readings, "{ kind = \"celsius\"", "{ kind = \"percent\"", "another quantity");
    check("item-when", readings, "\"in-series\"", "\"in-siries\"", "unknown variant");
    check("item-card", "checklists/items/shared.toml", "card = \"who-may\"", "card = \"who-my\"", "there is no step");
    check("item-asks", "checklists/items/shared.toml", "card = \"who-may\"", "card = \"ohms\"", "asks for readings");
    let words = "en/checklists.toml";
    check("item-placeholder", words, "one type, one age", "{typ} type, one age", "nothing fills");
    check("item-no-item", words, "[item.watched]", "[item.wached]", "there is no item");
    check("item-why", words, "why = \"What is covered later", "why = \"\" # ", "its text or its why");
    check("list-no-list", words, "[list.yearly]", "[list.yaerly]", "there is no list");
}

#[test]
fn every_language_is_whole() {
    for tongue in Tongue::ALL {
        assert_eq!(read(Path::new("content"), tongue).err(), None, "{}", tongue.name());
    }
}
