//! Checklists: made for the site, judged at once, counted from when they were taken up.

use proptest::prelude::*;
use sixty_ohms::content::checklist::{Asks, Item, List, Made, State, list, of_content};
use sixty_ohms::content::{Content, built_in};
use sixty_ohms::core::because::Because;
use sixty_ohms::core::entry::{Entry, read};
use sixty_ohms::core::job::assess::{Assessment, Verdict, assess};
use sixty_ohms::core::job::check::Check;
use sixty_ohms::core::job::lists::{OwnItem, OwnList, Taken};
use sixty_ohms::core::job::{Job, Moment, Observation, Seen, Subject};
use sixty_ohms::core::site::{Draft, Site};
use sixty_ohms::core::units::{Kind, Quantity, Volts};
use std::collections::BTreeSet;
use std::sync::LazyLock;

static CONTENT: LazyLock<Content> = LazyLock::new(built_in);

fn draft(key: &str) -> Draft {
    let demo = CONTENT.demo.iter().find(|demo| demo.key == key).expect("the demo is in the content");
    CONTENT.equipment.draft_of(demo).expect("its equipment is there")
}

/// A job at a demo site that goes by one list.
struct At {
    job: Job,
    site: Site,
    key: &'static str,
}

impl At {
    fn new(demo: &str, key: &'static str) -> At {
        let site = draft(demo).site().unwrap();
        let mut job = Job { site: draft(demo), ..Job::default() };
        job.take_up(Taken { key: key.into(), own: None }, Moment(10));
        At { job, site, key }
    }

    fn assessment(&self) -> Assessment {
        self.job.assess(&self.site)
    }

    /// How the item with this key stands.
    fn state(&self, item: &str) -> State {
        let assessment = self.assessment();
        let made = Made { site: &self.site, assessment: &assessment };
        let list = list(&CONTENT, &self.job.lists[0], Some(made)).unwrap();
        let item = list.item(item).unwrap_or_else(|| panic!("{} has no {item}", self.key));
        list.standing(item, &self.job, Some(made)).state
    }

    fn because(&self, item: &str) -> Because {
        let assessment = self.assessment();
        let made = Made { site: &self.site, assessment: &assessment };
        let list = list(&CONTENT, &self.job.lists[0], Some(made)).unwrap();
        list.standing(list.item(item).unwrap(), &self.job, Some(made)).judged.unwrap().0
    }

    fn of(&self, item: &str) -> Subject {
        Subject::Item { list: self.key.into(), item: item.into() }
    }

    fn reads(&mut self, of: Subject, typed: &str, kind: Kind) {
        let seen = match read(typed, kind).unwrap() {
            Entry::Figure(shown) => Seen::Figure(shown),
            Entry::BeyondRange => Seen::BeyondRange,
        };
        self.job.note(of, seen, typed.into(), String::new(), Moment(20));
    }

    fn verdict(&mut self, item: &str, typed: &str, kind: Kind) -> Verdict {
        self.reads(self.of(item), typed, kind);
        match self.state(item) {
            State::Judged(verdict) => verdict,
            other => panic!("{item} is {other:?}"),
        }
    }
}

fn made<'a>(site: &'a Site, assessment: &'a Assessment) -> Made<'a> {
    Made { site, assessment }
}

fn every_list(site: &Site) -> Vec<List<'static>> {
    let assessment = assess(site, &[]);
    CONTENT.checklists.lists.iter().map(|shape| of_content(&CONTENT, shape, made(site, &assessment))).collect()
}

fn whole(list: &List<'_>) {
    let mut keys = BTreeSet::new();
    assert!(list.items().count() >= 20, "{} has {} items", list.key, list.items().count());
    for part in &list.parts {
        assert!(!part.title.is_empty() && !part.items.is_empty(), "{}: {}", list.key, part.title);
    }
    for Item { key, text, why, how, caution, tick, asks, .. } in list.items() {
        assert!(keys.insert(key.clone()), "{}: {key} is there twice", list.key);
        for said in [Some(text), Some(why), Some(how), caution.as_ref(), tick.as_ref()].into_iter().flatten() {
            assert!(!said.contains(['{', '}']), "{}: {key} says {said}", list.key);
        }
        assert!(!text.is_empty() && !why.is_empty(), "{}: {key} lacks its words", list.key);
        assert!(*asks == Asks::Tick || !how.is_empty(), "{}: {key} does not say how it is read", list.key);
    }
}

#[test]
fn every_list_on_every_demo_site_has_its_items() {
    for demo in &CONTENT.demo {
        let lists = every_list(&draft(&demo.key).site().unwrap());
        assert_eq!(
            lists.iter().map(|list| list.key.as_str()).collect::<Vec<_>>(),
            ["new-bank", "add-module", "replace-module", "yearly", "fault-visit"]
        );
        lists.iter().for_each(whole);
    }
}

/// A site of another shape, or none where the equipment does not allow it.
fn shaped(module: usize, series: u32, parallel: u32, deaf: usize, steered: usize, built_in: bool) -> Option<Site> {
    let mut draft = draft(if module == 0 { "lark" } else { "otter" });
    draft.series = Some(series);
    draft.parallel = Some(parallel);
    let module = draft.module.as_mut()?;
    module.data.built_in_terminator = built_in;
    let charger = |is_steered: bool, n: usize| {
        let mut charger = CONTENT.equipment.chargers[0].clone();
        charger.steered = is_steered;
        charger.key = format!("{is_steered}-{n}");
        charger
    };
    draft.chargers = (0..deaf).map(|n| charger(false, n)).chain((0..steered).map(|n| charger(true, n))).collect();
    draft.site().ok()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]

    /// An item that does not apply is not there; one that applies to several things is there for each.
    #[test]
    fn items_follow_the_site(
        module in 0usize..2, series in 1u32..4, parallel in 1u32..5, deaf in 0usize..3, steered in 0usize..2, built_in: bool,
    ) {
        let Some(site) = shaped(module, series, parallel, deaf, steered, built_in) else { return Ok(()) };
        let loose_ends = if built_in { 1 } else { 2 };
        let side_by_side = usize::from(parallel > 1);
        let several = usize::from(series * parallel > 1);
        for list in every_list(&site) {
            whole(&list);
            let names = |stem: &str| {
                let shape = CONTENT.checklists.lists.iter().find(|shape| shape.key == list.key).unwrap();
                shape.parts.iter().any(|part| part.items.iter().any(|item| item == stem))
            };
            let count = |stem: &str| {
                let dotted = format!("{stem}.");
                list.items().filter(|item| item.key == stem || item.key.starts_with(&dotted)).count()
            };
            for (stem, expected) in [
                ("module-volts", (series * parallel) as usize),
                ("join-volts", side_by_side),
                ("join-soc", several),
                ("string-volts", usize::from(series > 1)),
                ("own-fuses", side_by_side),
                ("module-share", side_by_side),
                ("charger-volts", deaf),
                ("charger-current", usize::from(deaf > 0)),
                ("charger-stops", usize::from(deaf + steered > 0)),
                ("terminator-alone", loose_ends),
                ("terminator-moved", several),
                ("reference-joined", usize::from(module == 0 && parallel > 1)),
                ("modules-alike", several),
                ("new-link", several),
            ] {
                prop_assert_eq!(count(stem), if names(stem) { expected } else { 0 }, "{}: {}", list.key, stem);
            }
            for (item, card, expected) in [
                ("links", "link", (series * parallel - 1) as usize),
                ("negatives-joined", "negatives-joined", side_by_side),
                ("wake-button", "wake-button", usize::from(site.module.wake.key() == "button")),
                ("terminators-inside", "terminator-inside", 2 - loose_ends),
            ] {
                prop_assert_eq!(count(card), if names(item) { expected } else { 0 }, "{}: {}", list.key, card);
            }
        }
    }
}

#[test]
fn readings_are_held_against_the_site() {
    // Lark: three modules of 4 cells side by side, 10.5 to 14.4 V each; a charger that does not listen.
    let mut lark = At::new("lark", "new-bank");
    let module = lark.site.module.clone();
    let (least, most) = (module.discharge_voltage_limit.get(), module.charge_voltage_limit.get());
    assert_eq!(lark.verdict("module-volts.2", "13.28", Kind::Volts), Verdict::Holds);
    assert_eq!(lark.verdict("module-volts.2", "-13.28", Kind::Volts), Verdict::Fails);
    // Out by less than the meter may be off: 0.8 % and two digits.
    assert_eq!(lark.verdict("module-volts.2", &format!("{:.2}", most + 0.1), Kind::Volts), Verdict::LookAgain);
    assert_eq!(lark.verdict("module-volts.2", &format!("{:.2}", least - 0.3), Kind::Volts), Verdict::Fails);
    // 0.0125 V a cell, either way round.
    for (typed, expected) in [
        ("0.049", Verdict::Holds),
        ("-0.049", Verdict::Holds),
        ("0.060", Verdict::Fails),
        // Read to the hundredth, two last digits of it are more than what it lies outside.
        ("0.06", Verdict::LookAgain),
    ] {
        assert_eq!(lark.verdict("join-volts", typed, Kind::Volts), expected, "{typed}");
    }
    for (typed, expected) in [("4", Verdict::Holds), ("8", Verdict::LookAgain), ("12", Verdict::Fails)] {
        assert_eq!(lark.verdict("join-soc", typed, Kind::Percent), expected, "{typed}");
    }
    for (typed, expected) in
        [("120.3", Verdict::Holds), ("110", Verdict::LookAgain), ("60", Verdict::Fails), ("OL", Verdict::Fails)]
    {
        assert_eq!(lark.verdict("terminator-alone.bank", typed, Kind::Ohms), expected, "{typed}");
    }
    assert_eq!(lark.verdict("cell-spread", "12 mV", Kind::Volts), Verdict::Holds);
    assert_eq!(lark.verdict("cell-spread", "60 mV", Kind::Volts), Verdict::LookAgain);
    assert_eq!(lark.verdict("cell-spread", "0.15", Kind::Volts), Verdict::Fails);
    assert_eq!(lark.verdict("bank-temperature", "-2", Kind::Celsius), Verdict::Fails);
    // A setting is what it is: the least bit too high fails.
    assert_eq!(lark.verdict("charger-volts.roof-sun-30", "14.2", Kind::Volts), Verdict::Holds);
    assert_eq!(lark.verdict("charger-volts.roof-sun-30", &format!("{:.2}", most + 0.01), Kind::Volts), Verdict::Fails);
    assert_eq!(lark.verdict("charger-volts.roof-sun-30", "13.5", Kind::Volts), Verdict::Fails);
}

#[test]
fn in_series_the_windows_grow_with_the_string_and_charge_has_no_room() {
    // Otter: 2 in series, 2 strings.
    let mut otter = At::new("otter", "new-bank");
    assert_eq!(otter.verdict("string-volts", "26.5", Kind::Volts), Verdict::Holds);
    assert_eq!(otter.verdict("string-volts", "13.3", Kind::Volts), Verdict::Fails);
    assert_eq!(otter.verdict("join-volts", "0.09", Kind::Volts), Verdict::Holds);
    assert_eq!(otter.verdict("join-soc", "8", Kind::Percent), Verdict::Fails);
}

#[test]
fn your_meter_is_held_against_the_display_of_the_job() {
    let mut lark = At::new("lark", "yearly");
    assert_eq!(lark.verdict("posts-volts", "13.30", Kind::Volts), Verdict::LookAgain);
    assert_eq!(lark.because("posts-volts"), Because::ItemNeedsShownVoltage {});
    lark.reads(Subject::Check(Check::ShownVoltage), "13.3", Kind::Volts);
    assert_eq!(lark.state("posts-volts"), State::Judged(Verdict::Holds));
    assert_eq!(lark.verdict("posts-volts", "13.50", Kind::Volts), Verdict::LookAgain);
    assert_eq!(lark.verdict("posts-volts", "12.90", Kind::Volts), Verdict::Fails);
}

#[test]
fn a_check_is_one_truth_with_the_job() {
    let mut lark = At::new("lark", "new-bank");
    assert_eq!(lark.state("pair-ohms-at-monitor"), State::Open);
    for (check, typed) in
        [(Check::PairVolts, "0.001"), (Check::HighToReferenceVolts, "0.02"), (Check::LowToReferenceVolts, "0.01")]
    {
        lark.reads(Subject::Check(check), typed, Kind::Volts);
    }
    lark.reads(Subject::Check(Check::PairOhmsAtMonitor), "118.6", Kind::Ohms);
    assert_eq!(lark.state("pair-ohms-at-monitor"), State::Judged(Verdict::Fails));
    assert_eq!(lark.assessment().of(Check::PairOhmsAtMonitor).unwrap().verdict, Verdict::Fails);
    // A card ticked on its own page is ticked here.
    lark.job.note(Subject::Card("loads-off".into()), Seen::Done, String::new(), String::new(), Moment(30));
    assert_eq!(lark.state("loads-off"), State::Done);
}

#[test]
fn a_yearly_list_wants_everything_anew_and_the_first_one_does_not() {
    let site = draft("lark").site().unwrap();
    let mut job = Job { site: draft("lark"), ..Job::default() };
    let shown = Seen::Figure(match read("13.3", Kind::Volts).unwrap() {
        Entry::Figure(shown) => shown,
        Entry::BeyondRange => unreachable!(),
    });
    job.observations.push(Observation::new(Subject::Check(Check::ShownVoltage), Moment(1), shown, "13.3"));
    job.observations.push(Observation::new(Subject::Card("loads-off".into()), Moment(1), Seen::Done, ""));
    for key in ["new-bank", "yearly"] {
        job.take_up(Taken { key: key.into(), own: None }, Moment(5));
    }
    let assessment = job.assess(&site);
    let made = Made { site: &site, assessment: &assessment };
    let standing = |job: &Job, index: usize, item: &str| {
        let list = list(&CONTENT, &job.lists[index], Some(made)).unwrap();
        list.standing(list.item(item).unwrap(), job, Some(made))
    };
    assert_eq!(standing(&job, 0, "shown-voltage").state, State::Judged(Verdict::Holds));
    assert_eq!(standing(&job, 0, "loads-off").state, State::Done);
    let open = standing(&job, 1, "shown-voltage");
    assert_eq!((open.state, open.earlier.map(|seen| seen.typed)), (State::Open, Some("13.3".into())));
    assert_eq!(standing(&job, 1, "loads-off").state, State::Open);
    let list = list(&CONTENT, &job.lists[1], Some(made)).unwrap();
    assert_eq!(list.counts(&job, Some(made)).done, 0);
}

#[test]
fn what_does_not_apply_says_why_and_may_be_read_after_all() {
    let mut lark = At::new("lark", "yearly");
    let item = "shown-voltage";
    lark.job.note(lark.of(item), Seen::NotApplicable, String::new(), "no display yet".into(), Moment(11));
    assert_eq!(lark.state(item), State::NotApplicable);
    // The job's own check knows nothing of it.
    assert_eq!(lark.assessment().of(Check::ShownVoltage).unwrap().verdict, Verdict::NotDone);
    lark.reads(Subject::Check(Check::ShownVoltage), "13.3", Kind::Volts);
    assert_eq!(lark.state(item), State::Judged(Verdict::Holds));
    lark.job.note(Subject::Check(Check::ShownVoltage), Seen::Withdrawn, String::new(), String::new(), Moment(12));
    // What was said before the reading still stands.
    assert_eq!(lark.state(item), State::NotApplicable);
    lark.job.note(lark.of(item), Seen::Withdrawn, String::new(), String::new(), Moment(13));
    assert_eq!(lark.state(item), State::Open);
}

#[test]
fn an_own_list_is_judged_without_a_site_and_survives_its_changes() {
    let reading =
        OwnItem { key: "b".into(), text: "Crimp height".into(), kind: Some(Kind::Volts), low: Some(1.0), high: None };
    let tick = OwnItem { key: "a".into(), text: "Stickers on".into(), ..OwnItem::default() };
    let own = OwnList { title: "Ours".into(), items: vec![tick, reading] };
    let mut job = Job::default();
    job.take_up(Taken { key: "own-1".into(), own: Some(own) }, Moment(1));
    let state = |job: &Job, item: &str| {
        let list = list(&CONTENT, &job.lists[0], None).unwrap();
        list.standing(list.item(item).unwrap(), job, None).state
    };
    let of = |item: &str| Subject::Item { list: "own-1".into(), item: item.into() };
    job.note(of("a"), Seen::Done, String::new(), String::new(), Moment(2));
    let shown =
        |volts: f64| Seen::Figure(sixty_ohms::core::entry::Shown { figure: Volts::of(volts).into(), digit: 0.01 });
    job.note(of("b"), shown(0.5), "0.50".into(), String::new(), Moment(3));
    assert_eq!((state(&job, "a"), state(&job, "b")), (State::Done, State::Judged(Verdict::Fails)));
    // The item asks for something else now: what was read is no answer to it any more.
    job.lists[0].own.as_mut().unwrap().items[1].kind = Some(Kind::Ohms);
    assert_eq!(state(&job, "b"), State::Open);
    let list = list(&CONTENT, &job.lists[0], None).unwrap();
    assert_eq!(list.next(None, &job, None).as_deref(), Some("b"));
    // A list of the content needs a site.
    assert!(sixty_ohms::content::checklist::list(&CONTENT, &Taken { key: "yearly".into(), own: None }, None).is_none());
}

#[test]
fn the_next_open_item_comes_after_the_present_one_and_then_from_the_start() {
    let mut lark = At::new("lark", "fault-visit");
    let assessment = lark.assessment();
    let site = lark.site.clone();
    let made = Made { site: &site, assessment: &assessment };
    let list = list(&CONTENT, &lark.job.lists[0].clone(), Some(made)).unwrap();
    let keys: Vec<String> = list.items().map(|item| item.key.clone()).collect();
    let last = keys.last().unwrap();
    assert_eq!(list.next(None, &lark.job, Some(made)), Some(keys[0].clone()));
    assert_eq!(list.next(Some(&keys[3]), &lark.job, Some(made)), Some(keys[4].clone()));
    assert_eq!(list.next(Some(last), &lark.job, Some(made)), Some(keys[0].clone()));
    for item in list.items() {
        lark.job.note(list.subject(item), Seen::NotApplicable, String::new(), "x".into(), Moment(9));
    }
    assert_eq!(list.next(None, &lark.job, Some(made)), None);
    let counts = list.counts(&lark.job, Some(made));
    assert_eq!((counts.done, counts.not_applicable), (counts.all, counts.all));
}

#[test]
fn the_list_of_jobs_says_what_comes_next_and_the_worst_of_all_that_was_read() {
    use sixty_ohms::content::brief::tell;
    let undescribed = tell(&CONTENT, &Job::default());
    assert_eq!((undescribed.verdict, undescribed.all_done), (None, false));
    let mut lark = At::new("lark", "yearly");
    lark.job.lists.clear();
    let begun = tell(&CONTENT, &lark.job);
    assert_eq!(begun.verdict, Some(Verdict::NotDone));
    assert!(begun.line.starts_with("Next: "), "{}", begun.line);
    // A reading of a list that is in use counts for the whole job.
    lark.job.take_up(Taken { key: "yearly".into(), own: None }, Moment(11));
    lark.reads(lark.of("state-of-health"), "60", Kind::Percent);
    assert_eq!(tell(&CONTENT, &lark.job).verdict, Some(Verdict::Fails));
    lark.job.put_down("yearly");
    assert_eq!(tell(&CONTENT, &lark.job).verdict, Some(Verdict::NotDone));
}
