//! The address's hash ↔ what is shown: pure, both ways.

use crate::content::pack;
use crate::core::job::link::armour;
use crate::core::power::sheet::Part;
use std::fmt;

/// Letters of the shortest payload, less than any has: what is shorter is an address that somebody typed.
const SHORTEST: usize = 12;

/// What is shown.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Screen {
    Home,
    Jobs,
    Job(String),
    /// The summary of a job's site.
    Site(String),
    /// One question of a job's site.
    SitePart(String, SitePart),
    /// One card of a job, by its key.
    Card(String, String),
    /// The bank of a job, module by module.
    JobBank(String),
    /// The power side of a job, and one page of it.
    JobPower(String),
    JobPowerPage(String, PowerPage),
    Record(String),
    Notes(String),
    /// The whole job in one view.
    Overview(String),
    /// Handing a job over: link, code, file.
    Share(String),
    /// Handing one checklist over.
    ShareList(String, String),
    /// Taking something in that comes from elsewhere.
    TakeIn,
    /// A link that was opened: what stands after the `#`.
    Arrived(String),
    /// The checklists of a job.
    Lists(String),
    /// One of them, by its key.
    List(String, String),
    /// The making of one's own.
    ListEdit(String, String),
    /// The photos of a job.
    Photos(String),
    /// The bus of a job, reading by reading.
    Trace(String),
    /// The fault finder, without a job and in one.
    Find,
    JobFind(String),
    /// The ports of a job's monitor.
    JobProfile(String),
    Measure,
    MeasureOhms,
    MeasureVolts,
    MeasureLength,
    MeasureProfile,
    MeasureRs485,
    MeasureTogether,
    MeasurePins,
    MeasureCapture,
    BankNumbers,
    BankRest,
    BankJoin,
    BankSharing,
    MeasurePower(PowerPage),
    Alarms,
    Alarm(String),
    Read,
    Guide(String),
    About,
    /// What others wrote that is in the app, with its licences.
    Licences,
    /// What is stored, backups, restores.
    Keeping,
    /// The packs that are kept, and opening one.
    Packs,
    /// A link to a pack that was opened: what stands after the `#`.
    PackArrived(String),
    /// Where packs are written.
    Workbench,
    /// Every part in every state: for looking at, and for checks.
    Parts,
    /// An address that leads nowhere.
    Unknown,
}

/// One question page of the site.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SitePart {
    Name,
    Modules,
    Monitor,
    Leads,
    Terminators,
    Chargers,
}

impl SitePart {
    pub const ALL: [SitePart; 6] = [
        SitePart::Name,
        SitePart::Modules,
        SitePart::Monitor,
        SitePart::Leads,
        SitePart::Terminators,
        SitePart::Chargers,
    ];

    fn key(self) -> &'static str {
        match self {
            SitePart::Name => "name",
            SitePart::Modules => "modules",
            SitePart::Monitor => "monitor",
            SitePart::Leads => "leads",
            SitePart::Terminators => "terminators",
            SitePart::Chargers => "chargers",
        }
    }

    /// The question after this one.
    pub fn next(self) -> Option<SitePart> {
        let index = SitePart::ALL.iter().position(|part| *part == self)?;
        SitePart::ALL.get(index + 1).copied()
    }
}

/// One page of the power side.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PowerPage {
    Sheets(Part),
    /// Isolation and the order of work.
    Order,
}

impl PowerPage {
    pub const ALL: [PowerPage; 6] = [
        PowerPage::Sheets(Part::Cable),
        PowerPage::Sheets(Part::Protection),
        PowerPage::Sheets(Part::Inrush),
        PowerPage::Sheets(Part::Charger),
        PowerPage::Sheets(Part::Joint),
        PowerPage::Order,
    ];

    fn key(self) -> &'static str {
        match self {
            PowerPage::Sheets(part) => part.key(),
            PowerPage::Order => "order",
        }
    }

    fn parse(key: &str) -> Option<PowerPage> {
        PowerPage::ALL.into_iter().find(|page| page.key() == key)
    }
}

/// The four destinations at the thumb.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Destination {
    Jobs,
    Measure,
    Alarms,
    Read,
}

impl Screen {
    /// Reads the hash of an address, with or without its `#`.
    pub fn parse(hash: &str) -> Screen {
        let hash = hash.trim_start_matches('#');
        if is_pack(hash) {
            return Screen::PackArrived(hash.into());
        }
        if is_payload(hash) {
            return Screen::Arrived(hash.into());
        }
        let path = hash.trim_matches('/');
        let parts: Vec<String> = path.split('/').map(decode).collect();
        let parts: Vec<&str> = parts.iter().map(String::as_str).collect();
        match parts.as_slice() {
            [""] => Screen::Home,
            ["jobs"] => Screen::Jobs,
            ["job", id] => Screen::Job((*id).into()),
            ["job", id, "site"] => Screen::Site((*id).into()),
            ["job", id, "site", part] => match SitePart::ALL.into_iter().find(|known| known.key() == *part) {
                Some(part) => Screen::SitePart((*id).into(), part),
                None => Screen::Unknown,
            },
            ["job", id, "card", card] => Screen::Card((*id).into(), (*card).into()),
            ["job", id, "bank"] => Screen::JobBank((*id).into()),
            ["job", id, "power"] => Screen::JobPower((*id).into()),
            ["job", id, "power", page] => match PowerPage::parse(page) {
                Some(page) => Screen::JobPowerPage((*id).into(), page),
                None => Screen::Unknown,
            },
            ["job", id, "record"] => Screen::Record((*id).into()),
            ["job", id, "notes"] => Screen::Notes((*id).into()),
            ["job", id, "share"] => Screen::Share((*id).into()),
            ["job", id, "list", key, "share"] => Screen::ShareList((*id).into(), (*key).into()),
            ["open"] => Screen::TakeIn,
            ["job", id, "view"] => Screen::Overview((*id).into()),
            ["job", id, "lists"] => Screen::Lists((*id).into()),
            ["job", id, "list", key] => Screen::List((*id).into(), (*key).into()),
            ["job", id, "list", key, "edit"] => Screen::ListEdit((*id).into(), (*key).into()),
            ["job", id, "photos"] => Screen::Photos((*id).into()),
            ["find"] => Screen::Find,
            ["job", id, "find"] => Screen::JobFind((*id).into()),
            ["job", id, "profile"] => Screen::JobProfile((*id).into()),
            ["job", id, "ohms"] => Screen::Trace((*id).into()),
            ["measure"] => Screen::Measure,
            ["measure", "ohms"] => Screen::MeasureOhms,
            ["measure", "volts"] => Screen::MeasureVolts,
            ["measure", "length"] => Screen::MeasureLength,
            ["measure", "profile"] => Screen::MeasureProfile,
            ["measure", "rs485"] => Screen::MeasureRs485,
            ["measure", "together"] => Screen::MeasureTogether,
            ["measure", "pins"] => Screen::MeasurePins,
            ["measure", "capture"] => Screen::MeasureCapture,
            ["measure", "bank"] => Screen::BankNumbers,
            ["measure", "rest"] => Screen::BankRest,
            ["measure", "join"] => Screen::BankJoin,
            ["measure", "sharing"] => Screen::BankSharing,
            ["measure", page] => PowerPage::parse(page).map_or(Screen::Unknown, Screen::MeasurePower),
            ["alarms"] => Screen::Alarms,
            ["alarms", key] => Screen::Alarm((*key).into()),
            ["read"] => Screen::Read,
            ["read", key] => Screen::Guide((*key).into()),
            ["about"] => Screen::About,
            ["licences"] => Screen::Licences,
            ["keeping"] => Screen::Keeping,
            ["packs"] => Screen::Packs,
            ["workbench"] => Screen::Workbench,
            ["parts"] => Screen::Parts,
            _ => Screen::Unknown,
        }
    }

    /// The screen that "back" at the top leads to.
    pub fn up(&self) -> Option<Screen> {
        match self {
            Screen::Home => None,
            Screen::Job(_) => Some(Screen::Jobs),
            Screen::Site(id)
            | Screen::Card(id, _)
            | Screen::JobBank(id)
            | Screen::JobPower(id)
            | Screen::Record(id)
            | Screen::Notes(id)
            | Screen::Overview(id)
            | Screen::Share(id)
            | Screen::Photos(id)
            | Screen::Trace(id)
            | Screen::JobProfile(id)
            | Screen::Lists(id) => Some(Screen::Job(id.clone())),
            Screen::List(id, _) => Some(Screen::Lists(id.clone())),
            Screen::JobPowerPage(id, _) => Some(Screen::JobPower(id.clone())),
            Screen::MeasurePower(_) => Some(Screen::Measure),
            Screen::TakeIn | Screen::Arrived(_) => Some(Screen::Jobs),
            Screen::ListEdit(id, key) | Screen::ShareList(id, key) => Some(Screen::List(id.clone(), key.clone())),
            Screen::SitePart(id, _) => Some(Screen::Site(id.clone())),
            Screen::MeasureOhms
            | Screen::MeasureVolts
            | Screen::MeasureLength
            | Screen::MeasureProfile
            | Screen::MeasureRs485
            | Screen::MeasureTogether
            | Screen::MeasurePins
            | Screen::MeasureCapture => Some(Screen::Measure),
            Screen::BankNumbers | Screen::BankRest | Screen::BankJoin | Screen::BankSharing => Some(Screen::Measure),
            Screen::Alarm(_) => Some(Screen::Alarms),
            Screen::Guide(_) => Some(Screen::Read),
            Screen::Keeping => Some(Screen::Jobs),
            Screen::Packs => Some(Screen::Keeping),
            Screen::Licences => Some(Screen::About),
            Screen::PackArrived(_) | Screen::Workbench => Some(Screen::Packs),
            _ => Some(Screen::Home),
        }
    }

    /// The destination that the screen belongs to.
    pub fn destination(&self) -> Option<Destination> {
        match self {
            Screen::Jobs
            | Screen::Job(_)
            | Screen::Site(_)
            | Screen::SitePart(..)
            | Screen::Card(..)
            | Screen::JobBank(_)
            | Screen::JobPower(_)
            | Screen::JobPowerPage(..)
            | Screen::Record(_)
            | Screen::Notes(_)
            | Screen::Overview(_)
            | Screen::Share(_)
            | Screen::ShareList(..)
            | Screen::TakeIn
            | Screen::Arrived(_)
            | Screen::Lists(_)
            | Screen::List(..)
            | Screen::ListEdit(..)
            | Screen::Photos(_)
            | Screen::Keeping
            | Screen::Packs
            | Screen::PackArrived(_)
            | Screen::Workbench
            | Screen::Trace(_)
            | Screen::JobProfile(_)
            | Screen::JobFind(_) => Some(Destination::Jobs),
            Screen::Measure
            | Screen::MeasureOhms
            | Screen::MeasureVolts
            | Screen::MeasureLength
            | Screen::MeasureProfile
            | Screen::MeasureRs485
            | Screen::MeasureTogether
            | Screen::MeasurePins
            | Screen::MeasurePower(_)
            | Screen::MeasureCapture => Some(Destination::Measure),
            Screen::BankNumbers | Screen::BankRest | Screen::BankJoin | Screen::BankSharing => {
                Some(Destination::Measure)
            }
            Screen::Alarms | Screen::Alarm(_) => Some(Destination::Alarms),
            Screen::Read | Screen::Guide(_) => Some(Destination::Read),
            Screen::Home | Screen::Find | Screen::About | Screen::Licences | Screen::Parts | Screen::Unknown => None,
        }
    }
}

impl fmt::Display for Screen {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let job = |id: &str| format!("job/{}", encode(id));
        let path = match self {
            Screen::Home | Screen::Unknown => String::new(),
            Screen::Jobs => "jobs".into(),
            Screen::Job(id) => job(id),
            Screen::Site(id) => format!("{}/site", job(id)),
            Screen::SitePart(id, part) => format!("{}/site/{}", job(id), part.key()),
            Screen::Card(id, card) => format!("{}/card/{}", job(id), encode(card)),
            Screen::JobBank(id) => format!("{}/bank", job(id)),
            Screen::JobPower(id) => format!("{}/power", job(id)),
            Screen::JobPowerPage(id, page) => format!("{}/power/{}", job(id), page.key()),
            Screen::Record(id) => format!("{}/record", job(id)),
            Screen::Find => "find".into(),
            Screen::JobFind(id) => format!("{}/find", job(id)),
            Screen::JobProfile(id) => format!("{}/profile", job(id)),
            Screen::Trace(id) => format!("{}/ohms", job(id)),
            Screen::Notes(id) => format!("{}/notes", job(id)),
            Screen::Overview(id) => format!("{}/view", job(id)),
            Screen::Share(id) => format!("{}/share", job(id)),
            Screen::ShareList(id, key) => format!("{}/list/{}/share", job(id), encode(key)),
            Screen::TakeIn => "open".into(),
            Screen::Arrived(payload) => return write!(f, "#{payload}"),
            Screen::Lists(id) => format!("{}/lists", job(id)),
            Screen::List(id, key) => format!("{}/list/{}", job(id), encode(key)),
            Screen::ListEdit(id, key) => format!("{}/list/{}/edit", job(id), encode(key)),
            Screen::Photos(id) => format!("{}/photos", job(id)),
            Screen::Measure => "measure".into(),
            Screen::MeasureOhms => "measure/ohms".into(),
            Screen::MeasureVolts => "measure/volts".into(),
            Screen::MeasureLength => "measure/length".into(),
            Screen::MeasureProfile => "measure/profile".into(),
            Screen::MeasureRs485 => "measure/rs485".into(),
            Screen::MeasureTogether => "measure/together".into(),
            Screen::MeasurePins => "measure/pins".into(),
            Screen::MeasureCapture => "measure/capture".into(),
            Screen::BankNumbers => "measure/bank".into(),
            Screen::BankRest => "measure/rest".into(),
            Screen::BankJoin => "measure/join".into(),
            Screen::BankSharing => "measure/sharing".into(),
            Screen::MeasurePower(page) => format!("measure/{}", page.key()),
            Screen::Alarms => "alarms".into(),
            Screen::Alarm(key) => format!("alarms/{}", encode(key)),
            Screen::Read => "read".into(),
            Screen::Guide(key) => format!("read/{}", encode(key)),
            Screen::About => "about".into(),
            Screen::Licences => "licences".into(),
            Screen::Keeping => "keeping".into(),
            Screen::Packs => "packs".into(),
            Screen::PackArrived(payload) => return write!(f, "#{payload}"),
            Screen::Workbench => "workbench".into(),
            Screen::Parts => "parts".into(),
        };
        write!(f, "#/{path}")
    }
}

/// Could this, after the `#`, be a pack?
fn is_pack(hash: &str) -> bool {
    hash.starts_with(pack::link::FIRST) && hash.len() > SHORTEST
}

/// Could this, after the `#`, be a job or a list that was sent? Screens of the app begin with a `/` there.
fn is_payload(hash: &str) -> bool {
    let mut letters = hash.chars();
    match letters.next() {
        Some(armour::LETTERS) => letters.count() >= SHORTEST,
        Some(armour::DIGITS) => letters.clone().all(|c| c.is_ascii_digit()) && letters.count() >= SHORTEST,
        _ => false,
    }
}

/// Percent-encodes everything but letters, digits, `-`, `_` and `.`.
fn encode(text: &str) -> String {
    let mut out = String::new();
    for byte in text.bytes() {
        if byte.is_ascii_alphanumeric() || matches!(byte, b'-' | b'_' | b'.') {
            out.push(char::from(byte));
        } else {
            out.push_str(&format!("%{byte:02X}"));
        }
    }
    out
}

fn decode(text: &str) -> String {
    let mut bytes = Vec::new();
    let mut rest = text.as_bytes();
    while let Some((first, tail)) = rest.split_first() {
        let escaped = (*first == b'%')
            .then(|| tail.get(..2))
            .flatten()
            .and_then(|hex| std::str::from_utf8(hex).ok())
            .and_then(|hex| u8::from_str_radix(hex, 16).ok());
        match escaped {
            Some(byte) => {
                bytes.push(byte);
                rest = &tail[2..];
            }
            None => {
                bytes.push(*first);
                rest = tail;
            }
        }
    }
    String::from_utf8_lossy(&bytes).into_owned()
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn screens() -> impl Strategy<Value = Screen> {
        let id = "[^\u{0}]{1,12}";
        prop_oneof![
            Just(Screen::Home),
            Just(Screen::Jobs),
            Just(Screen::Measure),
            Just(Screen::MeasureOhms),
            Just(Screen::MeasureVolts),
            Just(Screen::MeasureLength),
            Just(Screen::MeasureProfile),
            Just(Screen::MeasureRs485),
            Just(Screen::MeasureTogether),
            Just(Screen::MeasurePins),
            Just(Screen::MeasureCapture),
            Just(Screen::BankNumbers),
            Just(Screen::BankRest),
            Just(Screen::BankJoin),
            Just(Screen::BankSharing),
            Just(Screen::Alarms),
            Just(Screen::Read),
            Just(Screen::About),
            Just(Screen::Licences),
            Just(Screen::Keeping),
            Just(Screen::Packs),
            Just(Screen::Workbench),
            "k[A-Za-z0-9_-]{12,40}z".prop_map(Screen::PackArrived),
            id.prop_map(Screen::Photos),
            Just(Screen::Parts),
            id.prop_map(Screen::Job),
            id.prop_map(Screen::Site),
            id.prop_map(Screen::JobBank),
            id.prop_map(Screen::JobPower),
            (id, 0usize..6).prop_map(|(id, page)| Screen::JobPowerPage(id, PowerPage::ALL[page])),
            (0usize..6).prop_map(|page| Screen::MeasurePower(PowerPage::ALL[page])),
            id.prop_map(Screen::Record),
            id.prop_map(Screen::Trace),
            id.prop_map(Screen::JobProfile),
            id.prop_map(Screen::JobFind),
            Just(Screen::Find),
            id.prop_map(Screen::Notes),
            id.prop_map(Screen::Overview),
            id.prop_map(Screen::Share),
            (id, id).prop_map(|(id, key)| Screen::ShareList(id, key)),
            Just(Screen::TakeIn),
            "o[A-Za-z0-9_-]{12,40}z".prop_map(Screen::Arrived),
            "n[0-9]{17,51}".prop_map(Screen::Arrived),
            id.prop_map(Screen::Lists),
            (id, id).prop_map(|(id, key)| Screen::List(id, key)),
            (id, id).prop_map(|(id, key)| Screen::ListEdit(id, key)),
            id.prop_map(Screen::Alarm),
            id.prop_map(Screen::Guide),
            (id, id).prop_map(|(id, card)| Screen::Card(id, card)),
            (id, 0usize..6).prop_map(|(id, part)| Screen::SitePart(id, SitePart::ALL[part])),
        ]
    }

    proptest! {
        #[test]
        fn every_screen_comes_back_from_its_address(screen in screens()) {
            // "measure/ohms" and friends are taken by screens of their own.
            prop_assert_eq!(Screen::parse(&screen.to_string()), screen);
        }

        #[test]
        fn any_address_is_some_screen(hash in ".{0,60}") {
            let _ = Screen::parse(&hash);
        }
    }

    #[test]
    fn addresses_read_as_words() {
        assert_eq!(Screen::Card("k3".into(), "link.1".into()).to_string(), "#/job/k3/card/link.1");
        assert_eq!(Screen::parse("#/nowhere/at/all"), Screen::Unknown);
    }
}
