//! A checklist made for a site: the items that apply, what each asks for, and what became of it in a job.

use crate::content::schema::{Checklist, ChecklistItem, Content};
use crate::content::speak::Speaker;
use crate::content::walk::{self, Card, Place};
use crate::core::because::{Arg, Because};
use crate::core::job::assess::{Assessment, Finding, Verdict, Window};
use crate::core::job::check::Check;
use crate::core::job::checklist::{Asked, Limits, begins, judge, limits};
use crate::core::job::lists::{OwnList, Taken};
use crate::core::job::{Job, Observation, Seen, Subject, latest};
use crate::core::site::Site;

/// What an item asks for.
#[derive(Clone, Debug, PartialEq)]
pub enum Asks {
    Tick,
    /// A check of the job: what is read for it here is read for the whole job.
    Check(Check),
    Read(Asked),
}

/// One item, in words.
#[derive(Clone, Debug, PartialEq)]
pub struct Item<'a> {
    /// Unique in the list and lasting.
    pub key: String,
    /// What its answer is of.
    pub of: Subject,
    pub asks: Asks,
    pub text: String,
    /// How a reading is taken.
    pub how: String,
    pub why: String,
    pub caution: Option<String>,
    /// The words on the button that ticks it.
    pub tick: Option<String>,
    /// Keys of its sources, beside those of a check's finding.
    pub sources: Vec<&'a str>,
}

/// Items that belong together.
#[derive(Clone, Debug, PartialEq)]
pub struct Part<'a> {
    pub title: String,
    pub items: Vec<Item<'a>>,
}

/// A checklist as it is gone by at one site.
#[derive(Clone, Debug, PartialEq)]
pub struct List<'a> {
    pub key: String,
    pub title: String,
    pub about: String,
    pub parts: Vec<Part<'a>>,
    /// Made by a person.
    pub is_own: bool,
    /// What was read or ticked before it was taken up does not count for it.
    pub fresh: bool,
}

/// How far an item has come.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum State {
    Open,
    Done,
    /// Read, with its verdict.
    Judged(Verdict),
    NotApplicable,
}

/// An item in a job.
#[derive(Clone, Debug, PartialEq)]
pub struct Standing {
    pub state: State,
    /// What counts: the tick, the reading, or the reason why it does not apply.
    pub seen: Option<Observation>,
    /// Of a reading that the item judges itself.
    pub judged: Option<(Because, Option<Window>)>,
    /// Of a check: the finding of the job's assessment.
    pub finding: Option<Finding>,
    /// What an item without a reading will be held against, where that is known.
    pub limits: Limits,
    /// A reading from before the list was taken up, which does not count.
    pub earlier: Option<Observation>,
}

/// How many items of a list have come how far.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Counts {
    pub all: u32,
    /// Ticked, read, or not applicable.
    pub done: u32,
    pub fails: u32,
    pub look_again: u32,
    pub not_applicable: u32,
}

/// A site with its assessment: what a list of the content is made for.
#[derive(Clone, Copy)]
pub struct Made<'a> {
    pub site: &'a Site,
    pub assessment: &'a Assessment,
}

/// A list that a job has taken up. None where the content has no such list, or it needs a site and there is none.
pub fn list<'a>(content: &'a Content, taken: &Taken, made: Option<Made<'_>>) -> Option<List<'a>> {
    match &taken.own {
        Some(own) => Some(own_list(&taken.key, own)),
        None => {
            let shape = content.checklists.lists.iter().find(|list| list.key == taken.key)?;
            Some(of_content(content, shape, made?))
        }
    }
}

/// A list of the content for a site. Parts without any item that applies are not there.
pub fn of_content<'a>(content: &'a Content, shape: &'a Checklist, made: Made<'_>) -> List<'a> {
    let speaker = Speaker::of(content);
    let words = &content.language.checklists;
    let cards = walk::cards(content, made.site, made.assessment);
    let parts = shape.parts.iter().map(|part| {
        let shapes = part.items.iter().filter_map(|key| content.checklists.items.iter().find(|item| item.key == *key));
        let items = shapes.flat_map(|item| expand(&speaker, &shape.key, item, made, &cards)).collect();
        Part { title: words.part.get(&part.key).cloned().unwrap_or_default(), items }
    });
    let said = words.list.get(&shape.key);
    List {
        key: shape.key.clone(),
        title: said.map(|said| said.title.clone()).unwrap_or_default(),
        about: said.map(|said| said.about.clone()).unwrap_or_default(),
        parts: parts.filter(|part| !part.items.is_empty()).collect(),
        is_own: false,
        fresh: shape.fresh,
    }
}

fn expand<'a>(
    speaker: &Speaker<'a>,
    list: &str,
    shape: &'a ChecklistItem,
    made: Made<'_>,
    cards: &[Card],
) -> Vec<Item<'a>> {
    if !shape.when.iter().all(|when| walk::holds(*when, made.site, made.assessment)) {
        return Vec::new();
    }
    if let Some(step) = &shape.card {
        return cards.iter().filter(|card| card.step == *step).map(|card| of_card(speaker, card)).collect();
    }
    if let Some(check) = shape.check {
        return made.assessment.of(check).map(|_| of_check(speaker, check)).into_iter().collect();
    }
    let places = walk::places(shape.each, made.site, speaker);
    places.into_iter().map(|place| of_words(speaker, list, shape, made.site, place)).collect()
}

fn of_card<'a>(speaker: &Speaker<'a>, card: &Card) -> Item<'a> {
    let spoken = card.spoken(speaker);
    Item {
        key: card.key.clone(),
        of: Subject::Card(card.key.clone()),
        asks: Asks::Tick,
        text: spoken.action,
        how: spoken.see,
        why: spoken.why,
        caution: spoken.caution,
        tick: spoken.tick,
        sources: Vec::new(),
    }
}

fn of_check<'a>(speaker: &Speaker<'a>, check: Check) -> Item<'a> {
    let words = speaker.language.checks.get(check.key());
    let mut steps = speaker.content.walk.stages.iter().flat_map(|stage| &stage.steps);
    // Every check is asked by one step: the build sees to it.
    let why = steps.find(|step| step.asks.contains(&check)).and_then(|step| speaker.language.walk.step.get(&step.key));
    Item {
        key: check.key().to_string(),
        of: Subject::Check(check),
        asks: Asks::Check(check),
        text: words.map(|words| words.title.clone()).unwrap_or_default(),
        how: words.map(|words| words.how.clone()).unwrap_or_default(),
        why: why.map(|words| words.why.clone()).unwrap_or_default(),
        caution: None,
        tick: None,
        sources: Vec::new(),
    }
}

fn of_words<'a>(speaker: &Speaker<'a>, list: &str, shape: &'a ChecklistItem, site: &Site, place: Place) -> Item<'a> {
    let key = format!("{}{}", shape.key, place.suffix);
    let mut args: Vec<(&'static str, Arg)> = place.args;
    args.extend(walk::common(site, speaker));
    args.push(("series", site.series.into()));
    let words = speaker.language.checklists.item.get(&shape.key);
    let fill = |text: Option<&String>| text.map(|text| speaker.template(text, &args)).unwrap_or_default();
    let some = |text: Option<&String>| Some(fill(text)).filter(|text| !text.is_empty());
    Item {
        of: Subject::Item { list: list.to_string(), item: key.clone() },
        key,
        asks: shape.read.map_or(Asks::Tick, Asks::Read),
        text: fill(words.map(|words| &words.text)),
        how: fill(words.map(|words| &words.how)),
        why: fill(words.map(|words| &words.why)),
        caution: some(words.map(|words| &words.caution)),
        tick: some(words.map(|words| &words.tick)),
        sources: shape.sources.iter().map(String::as_str).collect(),
    }
}

fn own_list<'a>(key: &str, own: &OwnList) -> List<'a> {
    let items = own.items.iter().map(|item| Item {
        key: item.key.clone(),
        of: Subject::Item { list: key.to_string(), item: item.key.clone() },
        asks: Asked::own(item).map_or(Asks::Tick, Asks::Read),
        text: item.text.clone(),
        how: String::new(),
        why: String::new(),
        caution: None,
        tick: None,
        sources: Vec::new(),
    });
    List {
        key: key.to_string(),
        title: own.title.clone(),
        about: String::new(),
        parts: vec![Part { title: String::new(), items: items.collect() }],
        is_own: true,
        fresh: true,
    }
}

impl<'a> List<'a> {
    pub fn items(&self) -> impl Iterator<Item = &Item<'a>> {
        self.parts.iter().flat_map(|part| &part.items)
    }

    pub fn item(&self, key: &str) -> Option<&Item<'a>> {
        self.items().find(|item| item.key == key)
    }

    /// What an item is of as an item of this list, whatever its answer is of: the reason why it does not apply is kept
    /// there, since the job's check or card may well apply.
    pub fn subject(&self, item: &Item<'_>) -> Subject {
        Subject::Item { list: self.key.clone(), item: item.key.clone() }
    }

    /// The observation that counts for an item, by its place among them.
    pub fn counts_at(&self, item: &Item<'_>, observations: &[Observation]) -> Option<usize> {
        let from = begins(observations, &self.key);
        let own = self.subject(item);
        let place = |of: &Subject, from: usize| {
            let at = observations.iter().skip(from).rposition(|seen| seen.of == *of)? + from;
            Some(at).filter(|at| observations[*at].seen != Seen::Withdrawn)
        };
        let answer = place(&item.of, self.counts_from(item, observations));
        let set_aside = place(&own, from).filter(|at| observations[*at].seen == Seen::NotApplicable);
        // Of the two the later one counts: what was set aside may be read after all.
        answer.max(set_aside)
    }

    /// Cards and checks belong to the whole job: only a fresh list wants them anew.
    fn counts_from(&self, item: &Item<'_>, observations: &[Observation]) -> usize {
        if self.fresh || item.of == self.subject(item) { begins(observations, &self.key) } else { 0 }
    }

    /// How an item stands in a job.
    pub fn standing(&self, item: &Item<'_>, job: &Job, made: Option<Made<'_>>) -> Standing {
        let seen = self.counts_at(item, &job.observations).map(|at| job.observations[at].clone());
        let before = &job.observations[..self.counts_from(item, &job.observations)];
        let earlier = if seen.is_none() { latest(before, &item.of).cloned() } else { None };
        let mut standing = Standing {
            state: State::Open,
            seen,
            judged: None,
            finding: None,
            limits: Limits::default(),
            earlier: earlier.filter(|seen| seen.seen != Seen::NotApplicable),
        };
        self.judge(item, job, made, &mut standing);
        standing
    }

    fn judge(&self, item: &Item<'_>, job: &Job, made: Option<Made<'_>>, standing: &mut Standing) {
        let known = match &item.asks {
            Asks::Read(asked) => Some(limits(asked, made.map(|made| made.site), &job.observations)),
            Asks::Check(check) => {
                standing.finding = made.and_then(|made| made.assessment.of(*check).cloned());
                None
            }
            Asks::Tick => None,
        };
        if let Some(Ok(limits)) = &known {
            standing.limits = *limits;
        }
        let Some(observation) = &standing.seen else { return };
        standing.state = match (&observation.seen, &item.asks) {
            (Seen::NotApplicable, _) => State::NotApplicable,
            (_, Asks::Tick) => State::Done,
            (_, Asks::Check(_)) => {
                standing.finding.as_ref().map_or(State::Done, |finding| State::Judged(finding.verdict))
            }
            (seen, Asks::Read(asked)) => match known {
                Some(Ok(limits)) => match judge(asked, &limits, seen) {
                    Some(outcome) => {
                        standing.judged = Some((outcome.because, outcome.window));
                        State::Judged(outcome.verdict)
                    }
                    // Not a reading of what the item asks for, as when an own item was changed since.
                    None => State::Open,
                },
                Some(Err(because)) => {
                    standing.judged = Some((because, None));
                    State::Judged(Verdict::LookAgain)
                }
                None => State::Done,
            },
        };
    }

    pub fn counts(&self, job: &Job, made: Option<Made<'_>>) -> Counts {
        let mut counts = Counts::default();
        for item in self.items() {
            let state = self.standing(item, job, made).state;
            counts.all += 1;
            counts.done += u32::from(state != State::Open);
            counts.fails += u32::from(state == State::Judged(Verdict::Fails));
            counts.look_again += u32::from(state == State::Judged(Verdict::LookAgain));
            counts.not_applicable += u32::from(state == State::NotApplicable);
        }
        counts
    }

    /// The key of the first open item after the one with this key, or else of the first open one.
    pub fn next(&self, after: Option<&str>, job: &Job, made: Option<Made<'_>>) -> Option<String> {
        let items: Vec<&Item<'_>> = self.items().collect();
        let start = after.and_then(|key| items.iter().position(|item| item.key == key)).map_or(0, |at| at + 1);
        let open = |item: &&&Item<'_>| self.standing(item, job, made).state == State::Open;
        let (before, behind) = items.split_at(start.min(items.len()));
        behind.iter().chain(before).find(open).map(|item| item.key.clone())
    }
}
