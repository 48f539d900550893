//! Every pair of module and monitor that goes together, with 1 to 8 modules at each port: a walkthrough that mentions every lead
//! and terminator once, nothing that the site lacks, and that ends in a proven bank.

use sixty_ohms::content::schema::Each;
use sixty_ohms::content::speak::Speaker;
use sixty_ohms::content::walk::{Card, Progress, State, cards as cards_of};
use sixty_ohms::content::{Content, Tongue, built_in_as};
use sixty_ohms::core::entry::{Entry, read};
use sixty_ohms::core::job::assess::{Verdict, assess};
use sixty_ohms::core::job::check::{Asks, Check};
use sixty_ohms::core::job::{Job, Moment, Observation, Seen, Subject};
use sixty_ohms::core::site::compat::{Ended, Obstacle, Way, ways};
use sixty_ohms::core::site::figures::{ModuleFigures, MonitorFigures};
use sixty_ohms::core::site::parts::{Part, parts};
use sixty_ohms::core::site::{Draft, Site};
use sixty_ohms::core::units::{Metres, Quantity};

/// How so many modules may be joined.
fn arrangements(module: &ModuleFigures, count: u32) -> impl Iterator<Item = (u32, u32)> {
    let (most_in_series, most_in_parallel) = (module.most_in_series, module.most_in_parallel);
    (1..=count)
        .filter(move |series| {
            count.is_multiple_of(*series) && *series <= most_in_series && count / series <= most_in_parallel
        })
        .map(move |series| (series, count / series))
}

fn draft(module: &ModuleFigures, monitor: &MonitorFigures, way: &Way<'_>, (series, parallel): (u32, u32)) -> Draft {
    let plug = |ended| match ended {
        Ended::Inside => None,
        Ended::Plug(plug) => Some(plug),
    };
    let mut monitor = monitor.clone();
    // The port is set to this profile.
    for port in monitor.ports.iter_mut().filter(|port| port.key == way.port.key) {
        port.speaks.retain(|profile| profile == way.profile);
    }
    let (at_bank, at_monitor): (Option<_>, Option<_>) = (plug(way.at_bank), plug(way.at_monitor));
    Draft {
        name: "A site".into(),
        module: Some(module.clone()),
        series: Some(series),
        parallel: Some(parallel),
        monitor: Some(monitor),
        port: Some(way.port.key.clone()),
        link_lead: way.link.cloned(),
        link_length: Some(Metres::of(0.5)),
        bus_lead: Some(way.bus.clone()),
        bus_length: Some(Metres::of(5.0)),
        adapter: way.adapter.cloned(),
        terminator: at_bank.cloned(),
        monitor_terminator: at_monitor.cloned(),
        terminated_at_bank: Some(true),
        terminated_at_monitor: Some(true),
        chargers: Vec::new(),
    }
}

/// What a person types who finds everything right.
fn right_answer(site: &Site, check: Check) -> (String, Seen) {
    let typed = match check {
        Check::PairVolts => "0.002".into(),
        Check::HighToReferenceVolts | Check::LowToReferenceVolts => "0.01".into(),
        Check::PairOhmsAtMonitor | Check::PairOhmsAtBank => "60.3".into(),
        Check::ShownModules => site.modules().to_string(),
        Check::ShownCapacity => format!("{}", site.capacity().get()),
        Check::ShownSoc => "80".into(),
        Check::ShownCharge => format!("{}", site.capacity().get() * 0.8),
        Check::ShownVoltage => format!("{}", site.nominal().get() * 1.03),
        Check::FirstFullCharge => "yes".into(),
        Check::CurrentDirection => "out".into(),
    };
    match check.asks() {
        Asks::Number { kind, .. } => match read(&typed, kind).unwrap() {
            Entry::Figure(shown) => (typed, Seen::Figure(shown)),
            Entry::BeyondRange => panic!("{check:?}: {typed}"),
        },
        _ => (typed.clone(), Seen::Answer(typed)),
    }
}

/// Leads the whole way through, always doing what is next; the cards in the order in which they came.
fn walk(content: &Content, job: &mut Job) -> Vec<Card> {
    let site = job.site.site().unwrap();
    let mut seen = Vec::new();
    for step in 0..500 {
        let assessment = assess(&site, &job.observations);
        let progress = Progress::of(content, &site, job, &assessment);
        let Some(next) = progress.next else {
            assert!(progress.states.iter().all(|state| state.is_done()), "{:?}", progress.states);
            return seen;
        };
        let card = progress.cards[next].clone();
        assert!(!matches!(progress.states[next], State::Fails | State::LookAgain), "{}: {:?}", card.key, assessment);
        let at = Moment(1_000 * step);
        if card.asks.is_empty() {
            job.see(Observation::new(Subject::Card(card.key.clone()), at, Seen::Done, ""));
        }
        for check in &card.asks {
            let (typed, said) = right_answer(&site, *check);
            job.see(Observation::new(Subject::Check(*check), at, said, typed));
        }
        seen.push(card);
    }
    panic!("no end");
}

fn of_step(cards: &[Card], step: &str) -> usize {
    cards.iter().filter(|card| card.step == step).count()
}

#[test]
fn every_way_is_led_to_its_end() {
    let contents = Tongue::ALL.map(built_in_as);
    let content = &contents[0];
    let equipment = &content.equipment;
    let (mut walked, mut drawn, mut pairs) = (0, 0, 0);
    for module in &equipment.modules {
        for monitor in &equipment.monitors {
            let reached = ways(module, monitor, equipment.shelf());
            pairs += usize::from(reached.iter().any(|reached| reached.ways.is_ok()));
            for way in reached.iter().filter_map(|reached| reached.ways.as_ref().ok()).flatten() {
                for arrangement in (1..=8).flat_map(|count| arrangements(module, count)) {
                    let site = draft(module, monitor, way, arrangement);
                    let of = format!("{} {arrangement:?} at {} {}", module.key, monitor.key, way.port.key);
                    let mut job = Job { site, ..Job::default() };
                    let site = job.site.site().unwrap_or_else(|problems| panic!("{of}: {problems:?}"));
                    let cards = walk(content, &mut job);
                    proves_and_mentions_all(&contents, &site, &job, &cards, &of);
                    walked += 1;
                    // With sources of charge the same cards stand, in both languages.
                    for charger in &equipment.chargers {
                        let site = Site { chargers: vec![charger.clone()], ..site.clone() };
                        proves_and_mentions_all(&contents, &site, &job, &cards, &of);
                        drawn += contents.len();
                    }
                    drawn += contents.len();
                }
            }
        }
    }
    println!(
        "{walked} sites led through to the end, {drawn} walkthroughs drawn, of {pairs} pairs of {} modules and {} monitors",
        equipment.modules.len(),
        equipment.monitors.len()
    );
    assert!(walked > 200 && pairs >= 8, "{walked}, {pairs}");
}

fn proves_and_mentions_all(contents: &[Content], site: &Site, job: &Job, cards: &[Card], of: &str) {
    let assessment = assess(site, &job.observations);
    assert!(assessment.findings.iter().all(|finding| finding.verdict == Verdict::Holds), "{of}: {assessment:?}");
    for part in parts(site) {
        let (step, wanted) = match &part {
            Part::BusLead { .. } => ("bus-lead", 1),
            Part::Adapter { .. } => ("adapter", 1),
            Part::LinkLeads { count, .. } => ("link", *count as usize),
            Part::Terminators { .. } => {
                assert_eq!(of_step(cards, "terminator"), site.loose_terminators() as usize, "{of}");
                continue;
            }
            _ => continue,
        };
        assert_eq!(of_step(cards, step), wanted, "{of}: {step}");
    }
    assert_eq!(of_step(cards, "link"), site.modules() as usize - 1, "{of}");
    assert_eq!(of_step(cards, "terminator") + of_step(cards, "terminator-inside"), 2, "{of}");
    assert_eq!(of_step(cards, "adapter"), usize::from(site.leads.last().unwrap().adapter.is_some()), "{of}");
    for content in contents {
        let speaker = Speaker::of(content);
        let mut said = Vec::new();
        let cards = cards_of(content, site, &assessment);
        for card in &cards {
            let spoken = card.spoken(&speaker);
            for text in [&spoken.action, &spoken.see, &spoken.why] {
                assert!(!text.trim().is_empty() && !text.contains(['{', '}']), "{of}, {}: {text:?}", card.key);
                // A placeholder that nothing fills leaves two spaces, or a space before a full stop.
                assert!(
                    !text.contains("  ") && !text.contains(" .") && !text.contains(" ,"),
                    "{of}, {}: {text:?}",
                    card.key
                );
            }
            assert!(!said.contains(&spoken.action), "{of}: {} twice", spoken.action);
            said.push(spoken.action);
        }
        // No module that is not there.
        let beyond = ["module", "Modul"].map(|module| format!("{module} {}", site.modules() + 1));
        assert!(!said.iter().any(|text| beyond.iter().any(|name| text.contains(name))), "{of}: {said:?}");
        let lead = speaker.lead(&site.leads.last().unwrap().lead);
        assert_eq!(said.iter().filter(|text| text.contains(&lead)).count(), 1, "{of}: {lead}");
    }
}

/// What is in the way is named for every port that cannot be reached, and each kind of it occurs in the built-in equipment.
#[test]
fn what_is_in_the_way_is_named() {
    let content = built_in_as(Tongue::English);
    let equipment = &content.equipment;
    let mut kinds = std::collections::BTreeSet::new();
    for module in &equipment.modules {
        for monitor in &equipment.monitors {
            for reached in ways(module, monitor, equipment.shelf()) {
                let Err(obstacles) = reached.ways else { continue };
                assert!(!obstacles.is_empty(), "{} at {}", module.key, monitor.key);
                kinds.extend(obstacles.iter().map(|obstacle| obstacle.key()));
            }
        }
    }
    assert!(
        kinds.contains("no-common-profile") && kinds.contains("no-socket") && kinds.contains("no-lead"),
        "{kinds:?}"
    );
    // A patch lead with the right plugs, between ports with other pins.
    let (module, monitor) = (equipment.module("broad-48-100").unwrap(), equipment.monitor("window-2").unwrap());
    let mut shelf = equipment.clone();
    shelf.leads.retain(|lead| lead.is_straight());
    let reached = ways(module, monitor, shelf.shelf());
    let crossed = |obstacle: &Obstacle<'_>| matches!(obstacle, Obstacle::Crossed { wanted: 1, got: Some(3), .. });
    assert!(matches!(&reached[0].ways, Err(list) if list.iter().any(crossed)), "{reached:?}");
    // With the crossing one: the same pair is joined.
    assert!(ways(module, monitor, equipment.shelf())[0].ways.is_ok());
}

/// A string in series with ports that are not isolated is refused before any card is drawn.
#[test]
fn series_strings_need_isolated_ports() {
    let content = built_in_as(Tongue::English);
    let equipment = &content.equipment;
    let (module, monitor) = (equipment.module("mast-12-60").unwrap(), equipment.monitor("window-5").unwrap());
    let reached = ways(module, monitor, equipment.shelf());
    let way = reached.iter().find_map(|reached| reached.ways.as_ref().ok()).unwrap().first().unwrap();
    let mut site = draft(module, monitor, way, (4, 1));
    assert!(site.site().is_ok());
    site.module.as_mut().unwrap().data.isolated = false;
    assert!(site.site().is_err());
}

/// The kinds of repetition all occur in the walkthrough or in a checklist.
#[test]
fn addresses_are_set_one_by_one() {
    let content = built_in_as(Tongue::English);
    let steps = || content.walk.stages.iter().flat_map(|stage| &stage.steps);
    assert!(steps().any(|step| step.each == Each::Module) && steps().any(|step| step.each == Each::Adapter));
}
