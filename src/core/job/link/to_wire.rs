//! A job or a checklist to the wire, sealed.

use super::decimal::{Decimal, Written};
use super::few::Few;
use super::numbers::{self, ALARMED, KINDS, LATER, REPAIRED, SEEN};
use super::v1;
use super::words::Collected;
use super::{Leave, MOST_NOTES, Packed, envelope, observations, site};
use crate::core::bank::table::Table;
use crate::core::faults::finder::Event;
use crate::core::job::lists::Taken;
use crate::core::job::story::Story;
use crate::core::job::{Job, Moment, Observation, People, Subject};
use serde::Serialize;

pub fn job(job: &Job, leave: Leave) -> Packed {
    let mut texts = Collected::default();
    let comma = observations::comma(&job.observations);
    let none = Job::default();
    // What stays behind is packed as if it were not there.
    fn kept<'a, T: ?Sized>(left: bool, mine: &'a T, none: &'a T) -> &'a T {
        if left { none } else { mine }
    }
    let seen = job.observations.iter().filter(|seen| !(leave.lists && matches!(seen.of, Subject::Item { .. })));
    let people = kept(leave.people, &job.people, &none.people);
    let People { by, owner, place } = people;
    let mut wire = v1::Job {
        left_out: numbers::leave_bits(leave),
        switches: u8::from(job.demo) * v1::DEMO + u8::from(comma) * v1::COMMA,
        texts: Few::default(),
        id: texts.word(&job.id),
        begun: job.begun.0,
        site: site::to_wire(&job.site, &mut texts),
        bank: bank(kept(leave.bank, &job.bank, &none.bank), &mut texts),
        bank_at: kept(leave.bank, &job.bank_at, &none.bank_at).map(|at| at.0.wrapping_sub(job.begun.0)),
        observations: observations::to_wire(seen, job.begun, comma, !leave.people, &mut texts),
        notes: texts.long(kept(leave.notes, job.notes.as_str(), &none.notes), MOST_NOTES),
        people: [texts.word(by), texts.word(owner), texts.word(place)],
        lists: kept(leave.lists, &job.lists, &none.lists).iter().map(|list| taken(list, &mut texts)).collect(),
        story: story(kept(leave.story, &job.story, &none.story), job.begun, &mut texts),
        pending: pending(kept(leave.pending, job, &none), &mut texts),
        photos: photos(kept(leave.captions, job, &none), job.begun, &mut texts),
        power: power(kept(leave.power, &job.power, &none.power), &mut texts),
        power_at: kept(leave.power, &job.power_at, &none.power_at).map(|at| at.0.wrapping_sub(job.begun.0)),
    };
    wire.texts = texts.packed();
    let lists = wire.lists.is_over() || wire.lists.0.iter().any(is_list_over);
    let fields = wire.bank.is_over() || wire.pending.is_over() || wire.power.is_over();
    let sections = fields || wire.story.told.is_over() || wire.photos.is_over();
    let seen = observations::is_over(&wire.observations) || site::is_over(&wire.site);
    sealed(v1::JOB, &wire, texts.over || wire.texts.is_over() || lists || sections || seen)
}

pub fn list(list: &Taken, all: &[Observation], people: bool) -> Packed {
    let of_it = |seen: &&Observation| matches!(&seen.of, Subject::Item { list: key, .. } if *key == list.key);
    let seen: Vec<&Observation> = all.iter().filter(of_it).collect();
    let mut texts = Collected::default();
    let begun = seen.first().map_or(Moment(0), |first| first.at);
    let comma = observations::comma(all);
    let mut wire = v1::List {
        switches: u8::from(comma) * v1::COMMA,
        texts: Few::default(),
        taken: taken(list, &mut texts),
        begun: begun.0,
        observations: observations::to_wire(seen.into_iter(), begun, comma, people, &mut texts),
    };
    wire.texts = texts.packed();
    let over = is_list_over(&wire.taken) || observations::is_over(&wire.observations) || wire.texts.is_over();
    sealed(v1::LIST, &wire, texts.over || over)
}

fn sealed(what: u8, wire: &impl Serialize, over: bool) -> Packed {
    // Plain data into a growing vector: there is nothing that could fail. An empty body opens as damaged.
    let body = postcard::to_allocvec(&(what, wire)).unwrap_or_default();
    let payload = envelope::seal(&body);
    Packed { over: over || payload.len() > super::MOST_TEXT / 2, payload }
}

fn is_list_over(list: &v1::Taken) -> bool {
    list.own.as_ref().is_some_and(|own| own.items.is_over())
}

/// The text of a field: a number as written, else a word.
fn value(text: &str, texts: &mut Collected) -> v1::Value {
    Written::read(text).map_or_else(|| v1::Value::Word(texts.word(text)), v1::Value::Number)
}

/// Whose field it is, and which: `m3-soc` is the third module's.
fn whose(key: &str) -> (u32, &str) {
    if let Some(item) = key.strip_prefix("all-") {
        return (1, item);
    }
    let module = || {
        let (number, item) = key.strip_prefix('m')?.split_once('-')?;
        let module: u32 = number.parse().ok().filter(|module: &u32| module.to_string() == number)?;
        Some((module.checked_add(1).filter(|whose| *whose > 1)?, item))
    };
    module().unwrap_or((0, key))
}

fn bank(table: &Table, texts: &mut Collected) -> Few<v1::BankField, { v1::MOST_FIELDS }> {
    let field = |(key, text): (&str, &str)| {
        let (whose, item) = whose(key);
        v1::BankField { whose, item: texts.word(item), text: value(text, texts) }
    };
    table.fields().map(field).collect()
}

fn taken(taken: &Taken, texts: &mut Collected) -> v1::Taken {
    let key = texts.word(&taken.key);
    let own = taken.own.as_ref().map(|own| v1::OwnList {
        title: texts.word(&own.title),
        items: own
            .items
            .iter()
            .map(|item| v1::OwnItem {
                key: texts.word(&item.key),
                text: texts.word(&item.text),
                kind: item.kind.map_or(0, |kind| numbers::to(KINDS, kind)),
                low: item.low.map(Decimal),
                high: item.high.map(Decimal),
            })
            .collect(),
    });
    v1::Taken { key, own }
}

fn story(story: &Story, begun: Moment, texts: &mut Collected) -> v1::Story {
    let mut last = begun.0;
    let kind = texts.word(&story.kind);
    let told = story.told.iter().map(|told| {
        let after = told.at.0.wrapping_sub(last);
        last = told.at.0;
        let (what, of, outcome) = match &told.event {
            Event::Seen { check, outcome } => (SEEN, check, outcome.as_str()),
            Event::Alarm { alarm } => (ALARMED, alarm, ""),
            Event::Later { check } => (LATER, check, ""),
            Event::Repaired { fault } => (REPAIRED, fault, ""),
        };
        v1::Told { what, after, of: texts.word(of), outcome: texts.word(outcome) }
    });
    v1::Story { kind, told: told.collect() }
}

fn pending(job: &Job, texts: &mut Collected) -> Few<v1::Pending, { v1::MOST_FIELDS }> {
    job.pending.iter().map(|(key, text)| v1::Pending { key: texts.word(key), text: value(text, texts) }).collect()
}

fn power(table: &Table, texts: &mut Collected) -> Few<v1::Pending, { v1::MOST_FIELDS }> {
    table.fields().map(|(key, text)| v1::Pending { key: texts.word(key), text: value(text, texts) }).collect()
}

fn photos(job: &Job, begun: Moment, texts: &mut Collected) -> Few<v1::Photo, { v1::MOST_PHOTOS }> {
    let one = |photo: &crate::core::job::photo::Photo| v1::Photo {
        after: photo.at.0.wrapping_sub(begun.0),
        shows: texts.word(&photo.shows),
    };
    job.photos.iter().map(one).collect()
}
