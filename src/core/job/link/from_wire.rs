//! The body of a payload to a job or a checklist. Every figure and text is checked on the way.

use super::decimal::Decimal;
use super::numbers::{self, ALARMED, KINDS, LATER, REPAIRED, SEEN};
use super::v1;
use super::words::Texts;
use super::{Broken, Caption, Leave, Left, MOST_NOTES, Opened, observations, site};
use crate::core::bank::table::{Of, Table};
use crate::core::faults::finder::Event;
use crate::core::job::lists::{OwnItem, OwnList, Taken};
use crate::core::job::story::{Story, Told};
use crate::core::job::{Job, Moment, People, Subject};
use crate::core::units::Kind;
use serde::de::DeserializeOwned;

pub fn body(body: &[u8]) -> Result<Opened, Broken> {
    match body.split_first() {
        Some((&v1::JOB, rest)) => job(whole(rest)?),
        Some((&v1::LIST, rest)) => list(whole(rest)?),
        _ => Err(Broken::Damaged),
    }
}

/// Reads one value that takes up all the bytes.
fn whole<T: DeserializeOwned>(bytes: &[u8]) -> Result<T, Broken> {
    match postcard::take_from_bytes(bytes) {
        Ok((wire, [])) => Ok(wire),
        _ => Err(Broken::Damaged),
    }
}

/// Is a switch on? None where one is on that this version does not know.
fn switch(all: u8, known: u8, one: u8) -> Result<bool, Broken> {
    if all & !known == 0 { Ok(all & one != 0) } else { Err(Broken::Damaged) }
}

fn job(wire: v1::Job) -> Result<Opened, Broken> {
    let known = v1::DEMO | v1::COMMA;
    let texts = &mut Texts::read(&wire.texts.0)?;
    let leave = numbers::leave_of(wire.left_out);
    let begun = Moment(wire.begun);
    let after = |after: i64| Moment(begun.0.wrapping_add(after));
    let [by, owner, place] = wire.people;
    let id = texts.word(wire.id)?;
    let site = site::from_wire(wire.site, texts)?;
    let bank = bank(wire.bank.0, texts)?;
    let comma = switch(wire.switches, known, v1::COMMA)?;
    let observations = observations::from_wire(wire.observations, begun, comma, texts)?;
    let mut photos = Vec::new();
    for photo in wire.photos.0 {
        photos.push(Caption { at: after(photo.after), shows: texts.word(photo.shows)? });
    }
    let mut job = Job {
        id,
        begun,
        demo: switch(wire.switches, known, v1::DEMO)?,
        site,
        bank,
        bank_at: wire.bank_at.map(after),
        power_at: wire.power_at.map(after),
        observations,
        notes: texts.long(wire.notes, MOST_NOTES)?,
        people: People { by: texts.word(by)?, owner: texts.word(owner)?, place: texts.word(place)? },
        story: story(wire.story, begun, texts)?,
        ..Job::default()
    };
    for list in wire.lists.0 {
        job.lists.push(taken(list, texts)?);
    }
    for field in wire.pending.0 {
        job.pending.insert(texts.word(field.key)?, value(field.text, texts)?);
    }
    let mut power = Vec::new();
    for field in wire.power.0 {
        power.push((texts.word(field.key)?, value(field.text, texts)?));
    }
    job.power = power.into_iter().collect();
    if holds_what_was_left_out(&job, &photos, leave) {
        return Err(Broken::Damaged);
    }
    Ok(Opened::Job(Box::new(job), Left { leave, photos }))
}

/// A section that is said to be left out and is there after all would change a job unseen: no difference is shown for it.
fn holds_what_was_left_out(job: &Job, photos: &[Caption], leave: Leave) -> bool {
    let named = || job.observations.iter().any(|seen| !seen.by.is_empty());
    let items = || job.observations.iter().any(|seen| matches!(seen.of, Subject::Item { .. }));
    leave.people && (!job.people.is_empty() || named())
        || leave.notes && !job.notes.is_empty()
        || leave.bank && (!job.bank.is_empty() || job.bank_at.is_some())
        || leave.story && job.story != Story::default()
        || leave.lists && (!job.lists.is_empty() || items())
        || leave.pending && !job.pending.is_empty()
        || leave.captions && !photos.is_empty()
        || leave.power && (!job.power.is_empty() || job.power_at.is_some())
}

fn list(wire: v1::List) -> Result<Opened, Broken> {
    let texts = &mut Texts::read(&wire.texts.0)?;
    let comma = switch(wire.switches, v1::COMMA, v1::COMMA)?;
    let taken = taken(wire.taken, texts)?;
    let observations = observations::from_wire(wire.observations, Moment(wire.begun), comma, texts)?;
    Ok(Opened::Checklist { taken, observations })
}

fn value(value: v1::Value, texts: &mut Texts) -> Result<String, Broken> {
    match value {
        v1::Value::Word(word) => texts.word(word),
        v1::Value::Number(written) => Ok(written.text()),
    }
}

fn bank(fields: Vec<v1::BankField>, texts: &mut Texts) -> Result<Table, Broken> {
    let mut all = Vec::new();
    for field in fields {
        let of = match field.whose {
            0 => Of::Bank,
            1 => Of::All,
            module => Of::Module(module - 1),
        };
        all.push((of.key(&texts.word(field.item)?), value(field.text, texts)?));
    }
    Ok(all.into_iter().collect())
}

fn taken(wire: v1::Taken, texts: &mut Texts) -> Result<Taken, Broken> {
    let key = texts.word(wire.key)?;
    let Some(own) = wire.own else { return Ok(Taken { key, own: None }) };
    let title = texts.word(own.title)?;
    let items: Result<Vec<OwnItem>, Broken> = own.items.0.into_iter().map(|item| own_item(item, texts)).collect();
    Ok(Taken { key, own: Some(OwnList { title, items: items? }) })
}

fn own_item(wire: v1::OwnItem, texts: &mut Texts) -> Result<OwnItem, Broken> {
    let kind: Option<Kind> = match wire.kind {
        0 => None,
        number => Some(numbers::of(KINDS, number).ok_or(Broken::Damaged)?),
    };
    let end = |end: Option<Decimal>| end.map(|Decimal(end)| end);
    Ok(OwnItem {
        key: texts.word(wire.key)?,
        text: texts.word(wire.text)?,
        kind,
        low: end(wire.low),
        high: end(wire.high),
    })
}

fn story(wire: v1::Story, begun: Moment, texts: &mut Texts) -> Result<Story, Broken> {
    let mut story = Story { kind: texts.word(wire.kind)?, told: Vec::new() };
    let mut at = begun.0;
    for told in wire.told.0 {
        at = at.wrapping_add(told.after);
        let (of, outcome) = (texts.word(told.of)?, texts.word(told.outcome)?);
        let event = match (told.what, outcome.is_empty()) {
            (SEEN, _) => Event::Seen { check: of, outcome },
            (ALARMED, true) => Event::Alarm { alarm: of },
            (LATER, true) => Event::Later { check: of },
            (REPAIRED, true) => Event::Repaired { fault: of },
            _ => return Err(Broken::Damaged),
        };
        story.told.push(Told { at: Moment(at), event });
    }
    Ok(story)
}
