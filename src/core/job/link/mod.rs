//! A job, or one checklist of it, as text that travels: a link's part after the `#`, or the digits of a code.
//!
//! A payload is an envelope ([`envelope`]) around the body of one version ([`v1`]); it is written as letters for links and
//! as digits for codes ([`armour`]). [`open`] reads what a person pastes: a payload, an address, or a message with one in it.
//! Nothing that comes in is trusted: every count, text and figure is held against its limit before it is kept.
//!
//! Left behind on purpose: pictures, whether the job is put away, and [`Job::rest`] (fields of a newer app).

pub mod armour;
mod decimal;
pub mod envelope;
mod few;
mod find;
mod from_wire;
mod numbers;
mod observations;
mod site;
mod to_wire;
mod v1;
mod words;

use crate::core::job::lists::Taken;
use crate::core::job::{Job, Moment, Observation};

/// The longest link that any chat carries without trouble, in characters with its address (craft: Signal shortens long
/// messages inside an address, signalapp/Signal-iOS#4394; the figure itself is common practice, no source).
pub const GOOD_LENGTH: usize = 1_000;
/// From here a person is warned (common practice, no source).
pub const WARN_LENGTH: usize = 2_000;
/// From here no link is offered: one chat's client stopped seeing links at 4096 characters (zhukov/webogram#904).
pub const MOST_LENGTH: usize = 4_000;
/// The longest text that [`open`] looks at, in bytes.
pub const MOST_TEXT: usize = 64 * 1024;
/// The longest text inside a payload, in characters; notes may have [`MOST_NOTES`].
pub const MOST_CHARS: usize = 2_000;
/// The longest notes, in characters.
pub const MOST_NOTES: usize = 20_000;

/// Which sections of a job stay behind.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Leave {
    /// Who did the work, owner, place, and who saw what.
    pub people: bool,
    pub notes: bool,
    /// What the modules say.
    pub bank: bool,
    /// The search for a fault.
    pub story: bool,
    /// Checklists, with the answers to their items.
    pub lists: bool,
    /// Texts that stand in fields and are not taken yet.
    pub pending: bool,
    /// What the photos show. The pictures never travel in a link.
    pub captions: bool,
    /// What is said of the power side.
    pub power: bool,
}

impl Leave {
    pub const NOTHING: Leave = Leave {
        people: false,
        notes: false,
        bank: false,
        story: false,
        lists: false,
        pending: false,
        captions: false,
        power: false,
    };
}

impl Default for Leave {
    /// People stay behind unless they are wanted.
    fn default() -> Leave {
        Leave { people: true, ..Leave::NOTHING }
    }
}

/// A job or a checklist, packed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Packed {
    /// Envelope and body.
    pub payload: Vec<u8>,
    /// Something in it is beyond the limits of [`open`]: it can be named by a fingerprint, but not sent.
    pub over: bool,
}

/// How a link's length will fare.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Length {
    Good,
    /// Longer than wished, and still carried by every chat that was looked at.
    Fair,
    /// Some chats will cut it: warn.
    Long,
    /// Not offered: the file goes instead.
    TooLong,
}

impl Packed {
    /// The payload as letters, to stand after a `#`.
    pub fn letters(&self) -> String {
        armour::letters(&self.payload)
    }

    /// The payload as digits behind one letter, to stand after a `#` in a code.
    pub fn digits(&self) -> String {
        armour::digits(&self.payload)
    }

    /// The whole link. `address` is the app's own, without a `#`.
    pub fn link(&self, address: &str) -> String {
        format!("{address}#{}", self.letters())
    }

    /// How the link at this address will fare.
    pub fn length(&self, address: &str) -> Length {
        match address.chars().count() + 1 + armour::letters_length(self.payload.len()) {
            _ if self.over => Length::TooLong,
            length if length < GOOD_LENGTH => Length::Good,
            length if length <= WARN_LENGTH => Length::Fair,
            length if length <= MOST_LENGTH => Length::Long,
            _ => Length::TooLong,
        }
    }
}

/// A photo that stayed behind.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Caption {
    pub at: Moment,
    pub shows: String,
}

/// What the sender kept.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Left {
    /// The sections that were left out on purpose: empty here, and perhaps not there.
    pub leave: Leave,
    /// One for each photo, unless captions were left out too.
    pub photos: Vec<Caption>,
}

/// What a text held.
#[derive(Clone, Debug, PartialEq)]
pub enum Opened {
    Job(Box<Job>, Left),
    /// One checklist; blank where nothing was seen.
    Checklist {
        taken: Taken,
        observations: Vec<Observation>,
    },
}

/// Why a text cannot be opened.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Broken {
    /// No link of this app is in it.
    NotALink,
    /// A part is missing or was changed on the way.
    Damaged,
    /// Longer, or with more in it, than this app takes.
    TooBig,
    /// Made by a newer version of the app.
    Newer,
}

impl Broken {
    pub const ALL: &'static [Broken] = &[Broken::NotALink, Broken::Damaged, Broken::TooBig, Broken::Newer];

    /// The key of its sentence, after `link-problem-`.
    pub fn key(self) -> &'static str {
        match self {
            Broken::NotALink => "not-a-link",
            Broken::Damaged => "damaged",
            Broken::TooBig => "too-big",
            Broken::Newer => "newer",
        }
    }
}

/// Packs a job, all but the sections to leave.
///
/// Control characters other than tab and line break do not travel; everything else comes back as it was, to the last bit
/// of a figure.
pub fn pack(job: &Job, leave: &Leave) -> Packed {
    to_wire::job(job, *leave)
}

/// Packs one checklist. Of the observations those of its items travel; with none of them it is a blank list.
/// Who saw them travels where `people` says so.
pub fn pack_list(taken: &Taken, observations: &[Observation], people: bool) -> Packed {
    to_wire::list(taken, observations, people)
}

/// Reads a pasted text: a payload, a whole address, or a message with the address somewhere in it.
pub fn open(text: &str) -> Result<Opened, Broken> {
    if text.len() > MOST_TEXT {
        return Err(Broken::TooBig);
    }
    find::open_first(text, open_payload)
}

/// Reads a payload as bytes.
pub fn open_payload(payload: &[u8]) -> Result<Opened, Broken> {
    if payload.len() > MOST_TEXT {
        return Err(Broken::TooBig);
    }
    from_wire::body(envelope::open(payload)?)
}
