//! Readings of a checklist that no check of the job asks for: what they are held against, and the verdict; and how a
//! job notes that a list was taken up, and what became of its items.

use crate::core::bank::asks::CELL_FILLS;
use crate::core::bank::join::{GAP_EACH_CELL, SOC_APART, SOC_CLOSE};
use crate::core::because::Because;
use crate::core::bus::termination::{Meter, TERMINATOR_ALLOWED};
use crate::core::job::assess::{Verdict, Window};
use crate::core::job::check::Check;
use crate::core::job::lists::{OwnItem, Taken};
use crate::core::job::numbers::VOLTAGE_SHARE;
use crate::core::job::{Job, Moment, Observation, Seen, Subject, latest};
use crate::core::site::Site;
use crate::core::units::{Figure, Kind, Quantity};
use serde::{Deserialize, Serialize};

/// What tells the reading, and so how far it may be off.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum By {
    /// A hand-held meter: [`Meter::USUAL`].
    Meter,
    /// A display: half its last digit, and for volts the share that all displays are taken to be good for.
    Display,
    /// A setting, as it stands.
    Setting,
}

impl By {
    /// The greatest error of a reading whose last digit is worth `digit`, in the base unit.
    fn error(self, kind: Kind, value: f64, digit: f64) -> f64 {
        match self {
            By::Meter => Meter::USUAL.error(value, digit),
            By::Display if kind == Kind::Volts => value.abs() * VOLTAGE_SHARE + digit / 2.0,
            By::Display => digit / 2.0,
            By::Setting => 0.0,
        }
    }
}

/// Where the limits of a reading come from.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum Against {
    /// The figures that stand beside it.
    #[default]
    Figures,
    /// Nothing: it is kept for the next person to compare with.
    Nothing,
    /// How far apart modules may rest that are to sit side by side.
    JoinVolts,
    /// How far apart the charge of modules may be that are to be joined.
    JoinSoc,
    /// The limits of one module's voltage.
    ModuleVolts,
    /// The limits of a whole string's voltage.
    StringVolts,
    /// From where cells are filled up to what the bank may be charged to.
    ChargeVolts,
    /// The temperatures at which the modules may be charged.
    ChargeTemperature,
    /// One terminator alone.
    Terminator,
    /// The voltage that the job has from the display.
    ShownVoltage,
}

/// A reading that an item of a checklist asks for. Its figures are in the base unit of the quantity.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub struct Asked {
    pub kind: Kind,
    pub by: By,
    /// May it be below zero, so that the field offers a sign?
    #[serde(default)]
    pub signed: bool,
    #[serde(default)]
    pub against: Against,
    #[serde(default)]
    pub low: Option<f64>,
    #[serde(default)]
    pub high: Option<f64>,
    /// Beyond these it fails; between them and the limits it is looked at again.
    #[serde(default)]
    pub outer_low: Option<f64>,
    #[serde(default)]
    pub outer_high: Option<f64>,
}

impl Asked {
    /// What an item of one's own asks for, if it asks for a reading. Volts, amperes and ohms are taken as read from a
    /// meter, all else from a display.
    pub fn own(item: &OwnItem) -> Option<Asked> {
        let kind = item.kind?;
        let (low, high) = kind.range();
        let inside = |limit: &f64| (low..=high).contains(limit);
        let by = if matches!(kind, Kind::Volts | Kind::Amperes | Kind::Ohms) { By::Meter } else { By::Display };
        let (low_limit, high_limit) = (item.low.filter(inside), item.high.filter(inside));
        let against = if low_limit.or(high_limit).is_some() { Against::Figures } else { Against::Nothing };
        Some(Asked {
            kind,
            by,
            signed: low < 0.0,
            against,
            low: low_limit,
            high: high_limit,
            outer_low: None,
            outer_high: None,
        })
    }
}

/// What a reading is held against, in the base unit of its quantity.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Limits {
    pub low: Option<f64>,
    pub high: Option<f64>,
    pub outer_low: Option<f64>,
    pub outer_high: Option<f64>,
}

impl Limits {
    fn between(low: f64, high: f64) -> Limits {
        Limits { low: Some(low), high: Some(high), ..Limits::default() }
    }

    /// Both limits, with the quantity's own end where one is open. None where that end lies nowhere near.
    fn both(&self, kind: Kind) -> Option<(f64, f64)> {
        let (least, most) = kind.range();
        match (self.low, self.high) {
            (Some(low), Some(high)) => Some((low, high)),
            (None, Some(high)) => Some((if least < 0.0 { -high.abs() } else { least }, high)),
            // Per cent and states of charge end at 100.
            (Some(low), None) if kind == Kind::Percent => Some((low, 100.0)),
            (Some(low), None) if most <= low * 10.0 => Some((low, most)),
            _ => None,
        }
    }

    /// For the window line.
    pub fn window(&self, kind: Kind, error: f64) -> Option<Window> {
        let figure = |value: f64| Figure::new(kind, value).ok();
        let (low, high) = self.both(kind)?;
        let outer = if self.outer_low.is_none() && self.outer_high.is_none() {
            None
        } else {
            Some((figure(self.outer_low.unwrap_or(low))?, figure(self.outer_high.unwrap_or(high))?))
        };
        Some(Window { low: figure(low)?, high: figure(high)?, outer, error })
    }
}

/// The limits of a reading at the site; a reason where they rest on something that is not known yet. Without a site only
/// figures of its own count.
pub fn limits(asked: &Asked, site: Option<&Site>, observations: &[Observation]) -> Result<Limits, Because> {
    let Asked { low, high, outer_low, outer_high, .. } = *asked;
    match asked.against {
        Against::Figures => return Ok(Limits { low, high, outer_low, outer_high }),
        Against::Nothing => return Ok(Limits::default()),
        _ => {}
    }
    let Some(site) = site else { return Ok(Limits::default()) };
    let module = &site.module;
    let (series, cells) = (f64::from(site.series), f64::from(module.cells_in_series));
    let (least, most) = (module.discharge_voltage_limit.get(), module.charge_voltage_limit.get());
    Ok(match asked.against {
        Against::Figures | Against::Nothing => Limits::default(),
        Against::JoinVolts => {
            let gap = GAP_EACH_CELL.get() * cells * series;
            Limits::between(-gap, gap)
        }
        // In series nothing evens out by itself, so that there is no room between.
        Against::JoinSoc => Limits {
            high: Some(SOC_CLOSE.get()),
            outer_high: (site.series == 1).then_some(SOC_APART.get()),
            ..Limits::default()
        },
        Against::ModuleVolts => Limits::between(least, most),
        Against::StringVolts => Limits::between(least * series, most * series),
        Against::ChargeVolts => Limits::between(CELL_FILLS.get() * cells * series, most * series),
        Against::ChargeTemperature => Limits::between(module.coldest_charge.get(), module.hottest_charge.get()),
        Against::Terminator => {
            let (low, high) = TERMINATOR_ALLOWED;
            // ISO 11898-2:2003 allows 100 to 130 Ω (from memory).
            Limits { outer_low: Some(100.0), ..Limits::between(low.get(), high.get()) }
        }
        Against::ShownVoltage => {
            let seen = latest(observations, &Subject::Check(Check::ShownVoltage)).map(|observation| &observation.seen);
            let Some(Seen::Figure(shown)) = seen else { return Err(Because::ItemNeedsShownVoltage {}) };
            let value = shown.figure.value();
            let error = By::Display.error(Kind::Volts, value, shown.digit);
            Limits::between(value - error, value + error)
        }
    })
}

/// What became of a reading.
#[derive(Clone, Debug, PartialEq)]
pub struct Outcome {
    pub verdict: Verdict,
    pub because: Because,
    pub window: Option<Window>,
}

/// Holds a reading against its limits. One that lies outside by less than it may be off is looked at again. None where
/// what was seen is no reading of that quantity.
///
/// Without limits the verdict is *holds*: it is kept, and nothing speaks against it; the reason says so.
pub fn judge(asked: &Asked, limits: &Limits, seen: &Seen) -> Option<Outcome> {
    let shown = match seen {
        Seen::Figure(shown) if shown.figure.kind() == asked.kind => shown,
        Seen::BeyondRange if asked.kind == Kind::Ohms => {
            let verdict = if limits.high.is_some() { Verdict::Fails } else { Verdict::Holds };
            return Some(Outcome { verdict, because: Because::ItemOpenPath {}, window: None });
        }
        _ => return None,
    };
    let (reading, value) = (shown.figure, shown.figure.value());
    let error = asked.by.error(asked.kind, value, shown.digit);
    let figure = |value: f64| Figure::new(asked.kind, value).unwrap_or(reading);
    let (verdict, because) = match outside(limits, value) {
        None => (Verdict::Holds, inside(limits, reading, figure)),
        Some(Outside { limit, outer, by, beyond }) => {
            let beyond = beyond.unwrap_or(by);
            if beyond > error {
                (Verdict::Fails, Because::ItemBeyond { reading, limit: figure(outer.unwrap_or(limit)) })
            } else if by <= error {
                let off = figure(error);
                (Verdict::LookAgain, Because::ItemStraddles { reading, limit: figure(limit), error: off })
            } else {
                let outer = figure(outer.unwrap_or(limit));
                (Verdict::LookAgain, Because::ItemNear { reading, limit: figure(limit), outer })
            }
        }
    };
    Some(Outcome { verdict, because, window: limits.window(asked.kind, error) })
}

/// How a reading lies outside.
struct Outside {
    limit: f64,
    outer: Option<f64>,
    /// How far beyond the limit.
    by: f64,
    /// How far beyond the outer limit, where there is one; below zero while it is not.
    beyond: Option<f64>,
}

/// Differences of floating figures that are no differences, as a share.
const HAIR: f64 = 1e-9;

fn outside(limits: &Limits, value: f64) -> Option<Outside> {
    let hair = HAIR * (1.0 + value.abs());
    if let Some(limit) = limits.high.filter(|limit| value > limit + hair) {
        let outer = limits.outer_high;
        return Some(Outside { limit, outer, by: value - limit, beyond: outer.map(|outer| value - outer) });
    }
    let limit = limits.low.filter(|limit| value < limit - hair)?;
    let outer = limits.outer_low;
    Some(Outside { limit, outer, by: limit - value, beyond: outer.map(|outer| outer - value) })
}

fn inside(limits: &Limits, reading: Figure, figure: impl Fn(f64) -> Figure) -> Because {
    match (limits.low, limits.high) {
        (Some(low), Some(high)) => Because::ItemInside { reading, low: figure(low), high: figure(high) },
        (None, Some(high)) => Because::ItemUpTo { reading, high: figure(high) },
        (Some(low), None) => Because::ItemFrom { reading, low: figure(low) },
        (None, None) => Because::ItemKept { reading },
    }
}

/// What an observation of a list as a whole is of: it was taken up, and its items count from there.
pub fn whole(list: &str) -> Subject {
    Subject::Item { list: list.to_string(), item: String::new() }
}

/// Where the observations begin that count for a list: behind the last time it was taken up.
pub fn begins(observations: &[Observation], list: &str) -> usize {
    observations.iter().rposition(|seen| seen.of == whole(list)).map_or(0, |at| at + 1)
}

impl Job {
    /// Takes a list up, once. One that was put down before goes on where it stood.
    pub fn take_up(&mut self, taken: Taken, at: Moment) {
        let of = whole(&taken.key);
        if !self.lists.iter().any(|known| known.key == taken.key) {
            self.lists.push(taken);
        }
        if self.last(&of).is_none() {
            self.note(of, Seen::Done, String::new(), String::new(), at);
        }
    }

    /// Begins a list anew: what was seen for it stays among the observations, and counts no longer.
    pub fn begin_anew(&mut self, list: &str, at: Moment) {
        self.note(whole(list), Seen::Done, String::new(), String::new(), at);
    }

    /// Puts a list out of use. What was seen for it stays among the observations.
    pub fn put_down(&mut self, list: &str) {
        self.lists.retain(|taken| taken.key != list);
    }

    /// Notes what became of an item, by whoever does the work.
    pub fn note(&mut self, of: Subject, seen: Seen, typed: String, note: String, at: Moment) {
        self.see(Observation { note, ..Observation::new(of, at, seen, typed) });
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::core::entry::{Entry, read};
    use proptest::prelude::*;

    fn asked(kind: Kind, by: By) -> Asked {
        let against = Against::Figures;
        Asked { kind, by, signed: false, against, low: None, high: None, outer_low: None, outer_high: None }
    }

    fn verdict(asked: &Asked, typed: &str) -> Verdict {
        let seen = match read(typed, asked.kind).unwrap() {
            Entry::Figure(shown) => Seen::Figure(shown),
            Entry::BeyondRange => Seen::BeyondRange,
        };
        judge(asked, &limits(asked, None, &[]).unwrap(), &seen).unwrap().verdict
    }

    #[test]
    fn a_spread_of_cells_holds_is_looked_at_again_or_fails() {
        let spread = Asked { high: Some(0.03), outer_high: Some(0.1), ..asked(Kind::Volts, By::Setting) };
        for (typed, expected) in [
            ("0.012", Verdict::Holds),
            ("30 mV", Verdict::Holds),
            ("31 mV", Verdict::LookAgain),
            ("0.1", Verdict::LookAgain),
            ("0.101", Verdict::Fails),
        ] {
            assert_eq!(verdict(&spread, typed), expected, "{typed}");
        }
    }

    #[test]
    fn a_reading_at_a_limit_is_looked_at_again_within_what_it_may_be_off() {
        let health = Asked { low: Some(80.0), ..asked(Kind::Percent, By::Display) };
        assert_eq!(verdict(&health, "80"), Verdict::Holds);
        // A display of whole per cent may be off by a half.
        assert_eq!(verdict(&health, "79.5 %"), Verdict::Fails);
        assert_eq!(verdict(&health, "79"), Verdict::Fails);
        let meter = Asked { low: Some(118.0), high: Some(130.0), ..asked(Kind::Ohms, By::Meter) };
        // 0.8 % of 117.5 Ω and two digits of 0.1 Ω are 1.14 Ω.
        assert_eq!(verdict(&meter, "117.5"), Verdict::LookAgain);
        assert_eq!(verdict(&meter, "116.7"), Verdict::Fails);
        assert_eq!(verdict(&meter, "OL"), Verdict::Fails);
    }

    #[test]
    fn without_limits_a_reading_is_kept() {
        let any = Asked { against: Against::Nothing, ..asked(Kind::Amperes, By::Meter) };
        let seen =
            Seen::Figure(crate::core::entry::Shown { figure: Figure::new(Kind::Amperes, 3.0).unwrap(), digit: 1.0 });
        let outcome = judge(&any, &Limits::default(), &seen).unwrap();
        assert!(matches!(outcome.because, Because::ItemKept { .. }) && outcome.window.is_none(), "{outcome:?}");
        // A reading of another quantity is none.
        assert_eq!(judge(&asked(Kind::Volts, By::Meter), &Limits::default(), &seen), None);
    }

    #[test]
    fn a_list_taken_up_anew_counts_from_there() {
        let mut job = Job::default();
        job.people.by = " Ann ".into();
        job.take_up(Taken { key: "yearly".into(), own: None }, Moment(1));
        let item = Subject::Item { list: "yearly".into(), item: "dry".into() };
        job.note(item.clone(), Seen::Done, String::new(), "by eye".into(), Moment(2));
        assert_eq!((job.lists.len(), begins(&job.observations, "yearly")), (1, 1));
        assert_eq!(job.last(&item).map(|seen| (seen.by.as_str(), seen.note.as_str())), Some(("Ann", "by eye")));
        job.begin_anew("yearly", Moment(3));
        assert_eq!((job.lists.len(), begins(&job.observations, "yearly")), (1, 3));
        job.put_down("yearly");
        assert_eq!((job.lists.len(), job.observations.len()), (0, 3));
        job.take_up(Taken { key: "yearly".into(), own: None }, Moment(4));
        assert_eq!((job.lists.len(), job.observations.len()), (1, 3), "it goes on where it stood");
    }

    proptest! {
        /// A reading further from the window never gets a better verdict.
        #[test]
        fn verdicts_worsen_away_from_the_window(low in 0.0..50.0f64, width in 0.0..50.0f64, room in 0.0..20.0f64, steps in 1u32..40) {
            let high = low + width;
            let limits = Limits { low: Some(low), high: Some(high), outer_low: None, outer_high: Some(high + room) };
            let asked = asked(Kind::Volts, By::Meter);
            let mut worst = Verdict::Holds;
            for step in 0..steps {
                let value = high + f64::from(step) * 1.7;
                let shown = crate::core::entry::Shown { figure: Figure::new(Kind::Volts, value).unwrap(), digit: 0.01 };
                let verdict = judge(&asked, &limits, &Seen::Figure(shown)).unwrap().verdict;
                prop_assert!(verdict >= worst, "{value} {verdict:?} after {worst:?}");
                worst = verdict;
            }
        }
    }
}
