//! Packs: the built-in content is one; what is put to it is whole or not at all; and what nobody means well with is refused
//! with a clear reason at its place, and changes nothing.

#[path = "packs/mutants.rs"]
mod mutants;

use serde_json::{Value, json};
use sixty_ohms::content::pack::{
    self, EXAMPLE, FORMAT, Mistake, Pack, Place, Together, brings, level, link, pairs, read,
};
use sixty_ohms::content::search::Search;
use sixty_ohms::content::walk::cards;
use sixty_ohms::content::{Tongue, built_in, built_in_as};
use sixty_ohms::core::job::assess::assess;
use std::sync::LazyLock;

static PLAIN: LazyLock<Together> = LazyLock::new(|| Together::of(built_in()));

fn example() -> Value {
    serde_json::from_str(EXAMPLE).unwrap()
}

fn mistakes(value: &Value) -> Vec<Mistake> {
    pack::open(&PLAIN, &serde_json::to_string_pretty(value).unwrap()).err().unwrap_or_default()
}

/// The example with one value put in, and the mistake that is expected: its place and a part of its reason.
fn check(pointer: &str, put: Value, place: &str, reason: &str) {
    let mut value = example();
    let (outer, key) = pointer.rsplit_once('/').unwrap();
    match value.pointer_mut(outer).unwrap_or_else(|| panic!("there is no {outer}")) {
        Value::Array(list) => list[key.parse::<usize>().unwrap()] = put,
        object => object[key] = put,
    }
    let found = mistakes(&value);
    let is = |mistake: &Mistake| mistake.place.to_string() == place && mistake.reason.contains(reason);
    assert!(found.iter().any(is), "{pointer}: no {place:?} with {reason:?} in {found:#?}");
    assert!(found.iter().all(|mistake| mistake.line > 0), "{found:#?}");
}

#[test]
fn the_built_in_content_is_a_pack() {
    for tongue in Tongue::ALL {
        let content = built_in_as(tongue);
        let text = Pack::of(&content, "built-in", "Built in", "Sixty Ohms", content.language.tongue.tag()).text();
        assert!(text.len() < pack::MOST_BYTES, "{}", text.len());
        let (_, together) = pack::open(&Together::nothing(), &text).unwrap();
        assert!(together.content == content, "it comes back as another");
    }
}

/// Guides, alarms and cards read easily: LIX to 40 is easy, to 50 medium (C. H. Björnsson, 1968, from memory). German words are longer.
#[test]
fn the_built_in_texts_read_plainly() {
    for (tongue, most) in [(Tongue::English, 40.0), (Tongue::German, 50.0)] {
        let content = built_in_as(tongue);
        let pack = Pack::of(&content, "built-in", "Built in", "Sixty Ohms", tongue.tag());
        let lix = level::lix(level::texts(&pack).iter().map(String::as_str)).unwrap();
        println!("{}: LIX {lix:.1}", tongue.name());
        assert!(lix > 10.0 && lix < most, "{}: {lix:.1}", tongue.name());
    }
}

#[test]
fn the_example_comes_in_and_can_be_used() {
    let (pack, with) = pack::open(&PLAIN, EXAMPLE).unwrap();
    assert_eq!(with.packs, ["heron"]);
    let content = &with.content;
    assert!(content.equipment.module("heron-150").is_some() && content.equipment.lead("heron-creek").is_some());
    assert!(content.language.guides.iter().any(|guide| guide.key == "heron-lamp"));
    let found = Search::new(&content.language).find("lid not shut");
    assert_eq!(found.first().map(|found| found.alarm.key.as_str()), Some("heron-lid-open"));
    let brought: Vec<_> = brings::brings(&pack).into_iter().map(|(part, names)| (part.key(), names.len())).collect();
    let expected =
        [("modules", 1), ("monitors", 1), ("leads", 1), ("steps", 1), ("guides", 1), ("alarms", 1), ("sources", 1)];
    assert_eq!(brought, expected);
    // Its texts are as plain as the built-in ones must be: below "medium".
    let lix = level::lix(level::texts(&pack).iter().map(String::as_str)).unwrap();
    assert!(lix < 40.0, "{lix}");
}

#[test]
fn its_step_is_in_the_walkthroughs_of_its_module_only() {
    let (_, with) = pack::open(&PLAIN, EXAMPLE).unwrap();
    let steps = |module: &str, monitor: &str| -> Vec<String> {
        let site = pairs::site(&with.content, module, monitor, 2).expect("they go together");
        cards(&with.content, &site, &assess(&site, &[])).into_iter().map(|card| card.key).collect()
    };
    let own = steps("heron-150", "creek-1");
    let at = |key: &str| own.iter().position(|known| known == key).unwrap_or_else(|| panic!("{key}: {own:?}"));
    assert_eq!([at("heron-lid.1"), at("heron-lid.2")], [at("switch-closed") + 1, at("switch-closed") + 2]);
    assert!(at("heron-lid.2") < at("wake-button"));
    assert!(!steps("plain-12-230", "window-2").iter().any(|key| key.starts_with("heron")));
}

#[test]
fn pairs_say_what_is_in_the_way() {
    let (_, with) = pack::open(&PLAIN, EXAMPLE).unwrap();
    let all = pairs::pairs(&with.content, &["heron-150".into(), "creek-1".into()]);
    let of = |module: &str, monitor: &str| all.iter().find(|p| p.module == module && p.monitor == monitor).unwrap();
    assert!(of("heron-150", "creek-1").has_path());
    let none = of("plain-12-230", "creek-1");
    assert!(!none.has_path() && !none.ports[0].1.is_empty());
    assert!(all.iter().all(|pair| pair.module == "heron-150" || pair.monitor == "creek-1"));
    assert!(pairs::pairs(&with.content, &[]).len() > all.len());
}

#[test]
fn what_is_taken_out_leaves_nothing_behind() {
    let mut other = example();
    other["key"] = json!("other");
    other["title"] = json!("Other");
    other["alarms"] = json!([]);
    other["steps"] = json!([]);
    other["words"] = json!({});
    other["guides"][0]["key"] = json!("other-lamp");
    other["sources"] = json!({});
    other["guides"][0]["sources"] = json!(["practice"]);
    for kind in ["modules", "monitors", "leads"] {
        other["equipment"][kind][0]["key"] = json!(format!("other-{kind}"));
    }
    let one = read(EXAMPLE).unwrap();
    let two = read(&other.to_string()).unwrap();
    let both = PLAIN.with(&one).unwrap().with(&two).unwrap();
    assert_eq!(both.packs, ["heron", "other"]);
    let alone = PLAIN.with(&two).unwrap();
    assert!(alone.content != PLAIN.content && alone != both);
    assert!(both.content.language.guides.len() == alone.content.language.guides.len() + 1);
    assert!(alone.with(&one).unwrap().content.equipment.modules.len() == both.content.equipment.modules.len());
    assert!(*PLAIN == Together::of(built_in()));
}

#[test]
fn nothing_is_replaced_unless_the_pack_says_so() {
    check("/equipment/modules/0/key", json!("plain-12-230"), "equipment.modules[0]", "is there already");
    check("/alarms/0/key", json!("bank-full"), "alarms[0]", "is there already");
    check("/guides/0/key", json!("cold-charging"), "guides[0]", "is there already");
    check("/replaces", json!(["guides/cold-charging"]), "replaces[0]", "puts nothing in the place");
    let mut value = example();
    value["guides"][0]["key"] = json!("cold-charging");
    value["replaces"] = json!(["guides/cold-charging"]);
    let (pack, with) = pack::open(&PLAIN, &value.to_string()).unwrap();
    assert_eq!(with.content.language.guides.len(), PLAIN.content.language.guides.len());
    assert!(with.content.language.guides.contains(&pack.guides[0]));
    // Another pack may not replace it in turn, nor bring it once more.
    value["key"] = json!("third");
    value["title"] = json!("Third");
    let third = read(&value.to_string()).unwrap();
    let reasons = with.with(&third).unwrap_err();
    assert!(reasons.iter().any(|m| m.reason.contains("is in the pack \"heron\" too")), "{reasons:?}");
    let twice = with.with(&pack).unwrap_err();
    assert!(twice.iter().any(|m| m.place == Place::of(&["key"])), "{twice:?}");
}

#[test]
fn a_mistake_is_named_with_its_place_and_reason() {
    let module = "/equipment/modules/0";
    let at = |field: &str| format!("equipment.modules[0].{field}");
    check(&format!("{module}/capacity-Ah"), json!("150"), &at("capacity-Ah"), "expected a number");
    check(&format!("{module}/capacity-Ah"), json!(1e9), &at("capacity-Ah"), "charge");
    check(&format!("{module}/capacity"), json!(150), &at("capacity"), "there is no field");
    check(&format!("{module}/wake"), json!("bell"), &at("wake"), "there is no choice \"bell\"");
    check(&format!("{module}/data/high-pin"), json!(9), &at("data.high-pin"), "has no pin 9");
    check(&format!("{module}/data/connector"), json!("m13"), &at("data.connector"), "is not among the connectors");
    check(&format!("{module}/data/isolated"), json!(1), &at("data.isolated"), "expected true or false");
    check(
        &format!("{module}/speaks/0/protocol"),
        json!("rv-d"),
        &at("speaks[0].protocol"),
        "is not among the protocols",
    );
    check(&format!("{module}/cells-in-series"), json!(0), &at("cells-in-series"), "1 to 32 cells");
    check(&format!("{module}/nominal-V"), json!(128), &at("nominal-V"), "each cell");
    check(&format!("{module}/coldest-charge-C"), json!(60), &at("coldest-charge-C"), "above the hottest");
    check(&format!("{module}/model"), json!(" "), &at("model"), "has no text");
    check(&format!("{module}/key"), json!("Heron 150"), "equipment.modules[0]", "is no key");
    check("/equipment/leads/0/ends", json!(["rj45"]), "equipment.leads[0].ends", "2");
    check("/guides/0/sources/0", json!("heron-shet"), "guides[0].sources[0]", "is not among the sources");
    check("/guides/0/blocks/1", json!({ "html": "<b>x</b>" }), "guides[0].blocks[1]", "there is no choice");
    check("/guides/0/blocks", json!([]), "guides[0].blocks", "is empty");
    check("/guides/0/title", json!("up\u{202e}down"), "guides[0].title", "U+202E");
    check("/guides/0/title", json!("x".repeat(5000)), "guides[0].title", "at most 4000");
    check("/alarms/0/stop", json!(""), "alarms[0].stop", "has no text");
    check("/alarms/0/ways", json!([]), "alarms[0].ways", "is empty");
    check("/alarms/0/see", json!(["nowhere"]), "alarms[0].see[0]", "there is no other alarm");
    check("/alarms/0/codes", json!({ "sunspec-event": [4] }), "alarms[0].codes.sunspec-event", "has several alarms");
    check("/steps/0/step/0/only", json!(["crane"]), "steps[0].step[0]", "is no module");
    check("/steps/0/step/0/after", json!("nowhere"), "steps[0].step[0].after", "has no step");
    check(
        "/words/steps/step/heron-lid/action",
        json!("Lift {lid}"),
        "words.steps.step.heron-lid.action",
        "nothing fills",
    );
    check(
        "/words/steps/step/crane",
        json!({"action": "a", "see": "b", "why": "c"}),
        "words.steps.step.crane",
        "there is no step",
    );
    check("/words/screens", json!(["x"]), "words.screens", "only the built-in");
    check("/finder", json!({ "kinds": ["van"] }), "finder.kinds", "only the built-in");
}

#[test]
fn all_mistakes_come_in_one_run() {
    let mut value = example();
    value["equipment"]["modules"][0]["capacity-Ah"] = json!("x");
    value["equipment"]["leads"][0]["lenghts-m"] = json!([1]);
    value["guides"][0]["order"] = json!(-1);
    value["alarms"][0]["title"] = json!(7);
    value["language"] = json!(null);
    let found = mistakes(&value);
    let places: Vec<String> = found.iter().map(|mistake| mistake.place.to_string()).collect();
    for place in [
        "equipment.modules[0].capacity-Ah",
        "equipment.leads[0].lenghts-m",
        "guides[0].order",
        "alarms[0].title",
        "language",
    ] {
        assert!(places.contains(&place.to_string()), "{place} in {found:#?}");
    }
    assert_eq!(found.len(), 5, "{found:#?}");
    assert!(found.is_sorted_by_key(|mistake| mistake.line));
}

#[test]
fn entries_of_one_list_keep_their_numbers() {
    let mut value = example();
    let guide = value["guides"][0].clone();
    for n in 1..6 {
        let mut other = guide.clone();
        other["key"] = json!(format!("guide-{n}"));
        if n % 2 == 1 {
            other["title"] = json!(n);
        }
        value["guides"].as_array_mut().unwrap().push(other);
    }
    let places: Vec<String> = mistakes(&value).iter().map(|mistake| mistake.place.to_string()).collect();
    assert_eq!(places, ["guides[1].title", "guides[3].title", "guides[5].title"]);
}

#[test]
fn what_is_no_pack_is_said_to_be_none() {
    let reason = |text: &str| read(text).unwrap_err()[0].reason.clone();
    assert!(reason("").contains("no JSON"));
    assert!(reason("[1]").contains("one object"));
    assert!(reason("{}").contains(FORMAT));
    assert!(reason("{\"pack\": \"sixty-ohms-backup\"}").contains(FORMAT));
    assert!(reason(&EXAMPLE.replace("\"version\": 1", "\"version\": 2")).contains("newer"));
    assert!(reason(&EXAMPLE.replace("\"version\": 1", "\"version\": \"1\"")).contains("must be 1"));
    assert!(reason(&"x".repeat(pack::MOST_BYTES + 1)).contains("at most"));
    let at = read(&EXAMPLE.replace("\"by\": \"Ex", "\"by\" \"Ex")).unwrap_err()[0].line;
    assert_eq!(at, 6);
    let twice = read(&EXAMPLE.replace("\"by\":", "\"by\": \"x\", \"by\":")).unwrap_err();
    assert!(twice[0].reason.contains("twice") && twice[0].line == 6, "{twice:?}");
}

/// A fault of the finder with all that belongs to it.
fn with_fault() -> Value {
    let mut value = example();
    value["finder"] = json!({
        "faults": [{ "key": "heron-hatch", "family": "heron", "weight": "scarce scarce scarce scarce scarce", "minutes": 2, "proof": "heron-look" }],
        "checks": [{
            "key": "heron-look", "minutes": 1, "outcomes": ["shut", "open"],
            "default": "rest never", "rows": { "never rest": ["heron-hatch"] }
        }],
        "alarms": { "heron-lid-open": { "often": ["heron-hatch"] } }
    });
    value["words"]["finder"] = json!({
        "faults": { "heron-hatch": { "title": "Lid open", "means": "The module stays off.", "repair": "Shut the lid." } },
        "checks": { "heron-look": { "title": "The lid", "ask": "Is the lid shut?", "outcomes": { "shut": "Shut", "open": "Open" } } }
    });
    value
}

#[test]
fn a_fault_comes_with_its_check_or_not_at_all() {
    let (_, with) = pack::open(&PLAIN, &with_fault().to_string()).unwrap();
    assert!(with.content.finder.fault("heron-hatch").is_some());
    let broken = |change: &dyn Fn(&mut Value), reason: &str| {
        let mut value = with_fault();
        change(&mut value);
        let found = mistakes(&value);
        assert!(found.iter().any(|m| m.reason.contains(reason) && !m.place.0.is_empty()), "{reason:?} in {found:#?}");
    };
    broken(&|v| v["finder"]["checks"] = json!([]), "which is no check");
    broken(&|v| v["finder"]["checks"][0]["rows"] = json!({}), "no check can find");
    broken(&|v| v["words"]["finder"]["faults"] = json!({}), "there are no words for \"heron-hatch\"");
    broken(
        &|v| v["words"]["finder"]["checks"]["heron-look"]["outcomes"] = json!({ "shut": "Shut" }),
        "has no words for \"open\"",
    );
    broken(&|v| v["finder"]["faults"][0]["weight"] = json!("scarce"), "1 weights");
    broken(&|v| v["finder"]["faults"][0]["minutes"] = json!(1e300), "minutes");
    broken(&|v| v["finder"]["alarms"] = json!({ "nothing": { "often": ["heron-hatch"] } }), "there is no alarm");
    broken(&|v| v["finder"]["rows"] = json!({ "wiggle": { "rest": ["joint"] } }), "is no fault of this pack");
}

#[test]
fn a_small_pack_travels_as_a_link() {
    let mut value = example();
    for part in ["steps", "guides", "alarms", "words", "sources"] {
        value.as_object_mut().unwrap().remove(part);
    }
    let text = value.to_string();
    let payload = link::letters(&text, 30).expect("it is small");
    assert!(payload.starts_with('k') && payload.len() < 3970);
    for sent in [payload.clone(), format!("Look: https://example.invalid/#{payload}. Bye"), format!("#{payload}")] {
        assert_eq!(read(&link::open(&sent).unwrap()), read(&text));
    }
    for at in 1..payload.len() - 1 {
        let mut bytes = payload.clone().into_bytes();
        bytes[at] = if bytes[at] == b'A' { b'B' } else { b'A' };
        assert!(link::open(std::str::from_utf8(&bytes).unwrap()).is_err(), "{at}");
    }
    assert_eq!(link::open("hello"), Err(link::Broken::NotALink));
    assert_eq!(link::letters(&Pack::of(&built_in(), "b", "B", "B", "en").text(), 30), None);
}

#[test]
fn whatever_is_broken_is_refused_with_a_clear_reason_and_nothing_changes() {
    let before = PLAIN.clone();
    let mutants = mutants::all(EXAMPLE, 7);
    println!("{} broken packs", mutants.len());
    assert!(mutants.len() >= 200, "{}", mutants.len());
    for mutant in &mutants {
        let found = match pack::open(&PLAIN, &mutant.text) {
            Err(found) => found,
            Ok(_) => panic!("{} is taken", mutant.what),
        };
        assert!(!found.is_empty() && found.len() <= pack::MOST_MISTAKES, "{}", mutant.what);
        for mistake in &found {
            assert!(is_clear(mistake, &mutant.text), "{}: {mistake:?}", mutant.what);
        }
        // Some mistake is told at the place that was broken, or at what it is in, or at what refers to it.
        if let Some(place) = &mutant.place {
            let near = |known: &Place| !known.0.is_empty() && (known.holds(place) || place.holds(known));
            let at_head = place.0.len() == 1;
            let told =
                at_head || found.iter().any(|mistake| near(&mistake.place) || mistake.reason.contains(&mutant.key));
            assert!(told, "{}: {found:#?}", mutant.what);
        }
    }
    assert!(*PLAIN == before, "something changed");
}

/// A reason is a sentence for people, with a line that is in the text.
fn is_clear(mistake: &Mistake, text: &str) -> bool {
    // A text that ends too early is wrong behind its last line.
    let lines = text.lines().count() + 1;
    let reads = mistake.reason.split_whitespace().count() >= 3 && !mistake.reason.contains('\u{10FFFF}');
    reads && mistake.at <= text.len() && mistake.line <= lines && text.is_char_boundary(mistake.at)
}

#[test]
fn noise_never_panics() {
    let mut taken = 0;
    for noise in mutants::noise(EXAMPLE, 11, 1500) {
        match pack::open(&PLAIN, &noise) {
            Ok(_) => taken += 1,
            Err(found) => assert!(found.iter().all(|mistake| is_clear(mistake, &noise)), "{found:?}"),
        }
    }
    assert!(taken < 1500);
}
