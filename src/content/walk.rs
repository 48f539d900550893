//! The walkthrough of a site: the steps that apply, as cards, in order, with what is done and what is next.

use crate::content::schema::{Content, Each, LitPart, Step, When};
use crate::content::speak::Speaker;
use crate::core::because::{Arg, Because};
use crate::core::job::assess::{Assessment, Verdict};
use crate::core::job::check::Check;
use crate::core::job::strip::Lit;
use crate::core::job::{Job, Moment};
use crate::core::site::figures::{Numbering, Off, PortUse, Wake};
use crate::core::site::{End, Site};
use crate::core::units::Seconds;
use std::sync::Arc;

/// One card: one action.
#[derive(Clone, Debug, PartialEq)]
pub struct Card {
    /// Unique in the walkthrough and lasting: ticks are kept under it.
    pub key: String,
    pub step: String,
    pub stage: String,
    pub asks: Vec<Check>,
    pub lit: Lit,
    /// What fills the placeholders of its words, beside what every card's words can use.
    args: Vec<(&'static str, Arg)>,
    common: Arc<Vec<(&'static str, Arg)>>,
}

/// How far a card has come.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum State {
    Open,
    Done(Option<Moment>),
    /// A reading of it needs another look.
    LookAgain,
    Fails,
}

impl State {
    pub fn is_done(self) -> bool {
        matches!(self, State::Done(_))
    }
}

/// A card's words, filled.
#[derive(Clone, Debug, PartialEq)]
pub struct Spoken {
    pub action: String,
    pub see: String,
    pub why: String,
    pub caution: Option<String>,
    pub tick: Option<String>,
}

/// The cards of a site, in order.
pub fn cards(content: &Content, site: &Site, assessment: &Assessment) -> Vec<Card> {
    let speaker = Speaker::of(content);
    let common = Arc::new(common(site, &speaker));
    let mut cards = Vec::new();
    for stage in &content.walk.stages {
        for step in &stage.steps {
            if is_for(step, site) && step.when.iter().all(|when| holds(*when, site, assessment)) {
                expand(step, &stage.key, site, &speaker, &common, &mut cards);
            }
        }
    }
    cards
}

/// Is the step for this equipment?
fn is_for(step: &Step, site: &Site) -> bool {
    step.only.is_empty() || step.only.iter().any(|key| *key == site.module.key || *key == site.monitor.key)
}

/// Does a condition hold at the site?
pub(super) fn holds(when: When, site: &Site, assessment: &Assessment) -> bool {
    match when {
        When::SeveralInParallel => site.parallel > 1,
        When::OtherEndAsked => assessment.of(Check::PairOhmsAtBank).is_some(),
        When::WakeButton => site.module.wake == Wake::Button,
        When::WakeByItself => site.module.wake == Wake::ByItself,
        When::WakeSwitch => site.module.wake == Wake::Switch,
        When::DedicatedPort => site.port.usage == PortUse::Dedicated,
        When::SettablePort => site.port.usage == PortUse::Settable,
        When::SeveralModules => site.modules() > 1,
        When::InSeries => site.series > 1,
        When::SharedReference => !site.module.data.isolated,
        When::Charger => !site.chargers.is_empty(),
        When::DeafCharger => site.chargers.iter().any(|charger| !charger.steered),
        When::NumberSwitches => site.module.numbering == Some(Numbering::Switches),
        When::LooseTerminator => End::BOTH.into_iter().any(|end| !site.built_in_terminator(end)),
    }
}

/// One of the things that a step or an item is repeated for.
pub(super) struct Place {
    /// What its key has behind that of the step: nothing for the only one.
    pub suffix: String,
    pub lit: Option<Lit>,
    /// What fills its own placeholders.
    pub args: Vec<(&'static str, Arg)>,
}

/// All that a step or an item is repeated for at the site.
pub(super) fn places(each: Each, site: &Site, speaker: &Speaker<'_>) -> Vec<Place> {
    let place = |suffix: String, lit, args| Place { suffix, lit, args };
    match each {
        Each::Once => vec![place(String::new(), None, Vec::new())],
        Each::Link => {
            let link = |n: u32| {
                // Module 1 is next to the monitor; its link lies just before the bus lead.
                let lead = site.leads.len().saturating_sub(1) - n as usize;
                let name = speaker.lead(&site.leads[lead].lead);
                let args = vec![("n", n.into()), ("next", (n + 1).into()), ("lead", name.into())];
                place(format!(".{n}"), Some(Lit::Lead(lead)), args)
            };
            (1..site.modules()).map(link).collect()
        }
        Each::LooseTerminator | Each::BuiltInTerminator => {
            let wanted = each == Each::BuiltInTerminator;
            // Both ends get their card even where the description has none there: the bus needs both.
            let ends = [End::Bank, End::Monitor].into_iter().filter(|end| site.built_in_terminator(*end) == wanted);
            let at_end = |end: End| {
                let plug = match end {
                    End::Monitor => site.monitor_terminator.as_ref().or(site.terminator.as_ref()),
                    End::Bank => site.terminator.as_ref(),
                };
                let mut args = vec![("end", end.into())];
                args.extend(plug.map(|plug| ("terminator", speaker.terminator(plug).into())));
                place(format!(".{}", end.key()), Some(Lit::Terminator(end)), args)
            };
            ends.map(at_end).collect()
        }
        Each::Adapter => {
            let bus = site.leads.last();
            let adapter = bus.and_then(|bus| bus.adapter.as_ref());
            let card = |adapter| {
                let lit = Lit::Lead(site.leads.len().saturating_sub(1));
                place(String::new(), Some(lit), vec![("adapter", speaker.lead(adapter).into())])
            };
            adapter.map(card).into_iter().collect()
        }
        Each::Module => (1..=site.modules()).map(|n| place(format!(".{n}"), None, vec![("n", n.into())])).collect(),
        Each::DeafCharger => {
            let deaf = site.chargers.iter().filter(|charger| !charger.steered);
            deaf.map(|charger| place(format!(".{}", charger.key), None, vec![("charger", charger.name.clone().into())]))
                .collect()
        }
    }
}

fn expand(
    step: &Step,
    stage: &str,
    site: &Site,
    speaker: &Speaker<'_>,
    common: &Arc<Vec<(&'static str, Arg)>>,
    cards: &mut Vec<Card>,
) {
    let plain = match step.lit {
        LitPart::Nothing | LitPart::Lead | LitPart::Terminator => Lit::Nothing,
        LitPart::Everything => Lit::Everything,
        LitPart::Modules => Lit::Modules,
        LitPart::Monitor => Lit::Monitor,
        LitPart::BusLead => Lit::Lead(site.leads.len().saturating_sub(1)),
        LitPart::Meter => Lit::Meter(site.stop_at(End::Monitor)),
        LitPart::MeterAtBank => Lit::Meter(site.stop_at(End::Bank)),
    };
    for Place { suffix, lit, args } in places(step.each, site, speaker) {
        cards.push(Card {
            key: format!("{}{suffix}", step.key),
            step: step.key.clone(),
            stage: stage.to_string(),
            asks: step.asks.clone(),
            lit: lit.unwrap_or(plain),
            args,
            common: common.clone(),
        });
    }
}

/// How the modules are switched off.
fn off(site: &Site, speaker: &Speaker<'_>) -> String {
    let key = site.module.off.map_or("off-unsaid", Off::name);
    let seconds = site.module.off_time.unwrap_or(Seconds::of(0.0));
    speaker.template(speaker.name(key), &[("seconds", seconds.into())])
}

/// Placeholders that every card, and every item of a checklist, of the site can use.
pub(super) fn common(site: &Site, speaker: &Speaker<'_>) -> Vec<(&'static str, Arg)> {
    let mut args: Vec<(&'static str, Arg)> = vec![
        ("modules", site.modules().into()),
        ("port", site.port.label.clone().into()),
        ("monitor", site.monitor.model.clone().into()),
        ("high", u32::from(site.port.high_pin).into()),
        ("low", u32::from(site.port.low_pin).into()),
        ("reference", u32::from(site.port.reference_pin).into()),
        ("far_end", End::Bank.into()),
        ("seconds", site.module.wake_time.into()),
        ("off", off(site, speaker).into()),
        ("protocol", speaker.name(&format!("protocol-{}", site.profile.protocol)).to_string().into()),
        ("rate", site.profile.bit_rate.into()),
        ("menu", site.monitor.source_menu.clone().into()),
        ("capacity", site.capacity().into()),
    ];
    if let Some(bus) = site.leads.last() {
        args.push(("lead", speaker.lead(&bus.lead).into()));
        args.push(("length", bus.length.into()));
    }
    if let Some(terminator) = &site.terminator {
        args.push(("terminator", speaker.terminator(terminator).into()));
    }
    args
}

impl Card {
    pub fn spoken(&self, speaker: &Speaker<'_>) -> Spoken {
        let empty = String::new();
        let words = speaker.language.walk.step.get(&self.step);
        let args: Vec<(&str, Arg)> = self.args.iter().chain(self.common.iter()).cloned().collect();
        let fill = |text: &str| speaker.template(text, &args);
        let some = |text: &str| (!text.is_empty()).then(|| fill(text));
        Spoken {
            action: fill(words.map_or(&empty, |w| &w.action)),
            see: fill(words.map_or(&empty, |w| &w.see)),
            why: fill(words.map_or(&empty, |w| &w.why)),
            caution: some(words.map_or(&empty, |w| &w.caution)),
            tick: some(words.map_or(&empty, |w| &w.tick)),
        }
    }

    /// How far the card has come: a tick, or the verdicts of all that it asks.
    pub fn state(&self, job: &Job, assessment: &Assessment) -> State {
        if self.asks.is_empty() {
            return job.done(&self.key).map_or(State::Open, |at| State::Done(Some(at)));
        }
        let findings: Vec<_> = self.asks.iter().filter_map(|check| assessment.of(*check)).collect();
        let any = |verdict: Verdict| findings.iter().any(|finding| finding.verdict == verdict);
        if any(Verdict::Fails) {
            State::Fails
        } else if any(Verdict::NotDone) {
            State::Open
        } else if any(Verdict::LookAgain) {
            State::LookAgain
        } else {
            State::Done(findings.iter().filter_map(|finding| finding.at).max())
        }
    }

    /// Does the job go on past this card? A reading that needs another look is shown again at the end, not in the way:
    /// the first full charge may be days off.
    fn is_passed(&self, job: &Job, assessment: &Assessment) -> bool {
        match self.state(job, assessment) {
            State::Done(_) => true,
            State::LookAgain => self.asks.iter().all(|check| {
                let finding = assessment.of(*check);
                finding.is_some_and(|f| f.verdict == Verdict::Holds || waits_for_full_charge(f.check, &f.because))
            }),
            State::Open | State::Fails => false,
        }
    }
}

fn waits_for_full_charge(check: Check, because: &Because) -> bool {
    match check {
        Check::FirstFullCharge => *because == Because::NotCalibrated {},
        Check::ShownSoc => matches!(because, Because::SocNotCalibrated { .. }),
        _ => false,
    }
}

/// A job's walkthrough with its progress.
#[derive(Clone, Debug, PartialEq)]
pub struct Progress {
    pub cards: Vec<Card>,
    pub states: Vec<State>,
    /// The first card that is not behind us.
    pub next: Option<usize>,
}

impl Progress {
    pub fn of(content: &Content, site: &Site, job: &Job, assessment: &Assessment) -> Progress {
        let cards = cards(content, site, assessment);
        let states = cards.iter().map(|card| card.state(job, assessment)).collect();
        let next = cards.iter().position(|card| !card.is_passed(job, assessment));
        Progress { cards, states, next }
    }

    pub fn index(&self, key: &str) -> Option<usize> {
        self.cards.iter().position(|card| card.key == key)
    }

    /// Cards of a stage that are done, and all of them.
    pub fn count(&self, stage: &str) -> (usize, usize) {
        let of_stage = || self.cards.iter().zip(&self.states).filter(|(card, _)| card.stage == stage);
        (of_stage().filter(|(_, state)| state.is_done()).count(), of_stage().count())
    }

    /// The worst state of a stage's cards.
    pub fn stage_state(&self, stage: &str) -> State {
        let states = || self.cards.iter().zip(&self.states).filter(|(card, _)| card.stage == stage).map(|(_, s)| *s);
        if states().any(|s| s == State::Fails) {
            State::Fails
        } else if states().all(State::is_done) {
            State::Done(None)
        } else if states().all(|s| s.is_done() || s == State::LookAgain) {
            State::LookAgain
        } else {
            State::Open
        }
    }

    /// The first open card of a stage, else its first.
    pub fn entry(&self, stage: &str) -> Option<&Card> {
        let mut of_stage = self.cards.iter().zip(&self.states).filter(|(card, _)| card.stage == stage);
        let first = of_stage.clone().next().map(|(card, _)| card);
        of_stage.find(|(_, state)| !state.is_done()).map(|(card, _)| card).or(first)
    }
}
