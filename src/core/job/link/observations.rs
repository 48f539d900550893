//! Observations in columns, to the wire and back.

use super::Broken;
use super::decimal::{Decimal, Written, value};
use super::few::Few;
use super::numbers::{self, *};
use super::v1::{self, Aside, Row, Run, Word};
use super::words::{Collected, Texts};
use crate::core::entry::Shown;
use crate::core::job::check::Asks;
use crate::core::job::{Moment, Observation, Seen, Subject};
use crate::core::units::{Figure, Kind};

/// What a meter beyond its range is written as.
const OPEN: &str = "OL";
/// Steps up to here are whole numbers in a figure's 53 bits.
const MOST_STEPS: f64 = (1u64 << 52) as f64;

/// The quantity that everybody knows a subject to ask for.
fn kind_of(of: &Subject) -> Option<Kind> {
    match of {
        Subject::Check(check) => match check.asks() {
            Asks::Number { kind, .. } => Some(kind),
            Asks::Answer(_) => None,
        },
        Subject::Hold(_) => Some(Kind::Ohms),
        Subject::Card(_) | Subject::Alarm(_) | Subject::Item { .. } => None,
    }
}

/// A figure whose last digit is one of the plain forms: the form, and how many steps of it the figure is.
fn plain(shown: &Shown) -> Option<(u32, i64)> {
    let form = (0..=LAST_PLAIN).find(|form| value(1, -(*form as i32)).to_bits() == shown.digit.to_bits())?;
    let steps = (shown.figure.value() / shown.digit).round();
    let whole = steps.abs() < MOST_STEPS;
    let same = whole && value(steps as i64, -(form as i32)).to_bits() == shown.figure.value().to_bits();
    same.then_some((form, steps as i64))
}

fn written(steps: i64, form: u32, comma: bool) -> String {
    Written { digits: steps, decimals: form, comma }.text()
}

/// Are readings of these observations mostly written with a comma?
pub fn comma(observations: &[Observation]) -> bool {
    let with = |sign: char| {
        let figures = observations.iter().filter(|seen| matches!(seen.seen, Seen::Figure(_)));
        figures.filter(|seen| seen.typed.contains(sign)).count()
    };
    with(',') > with('.')
}

/// Packs observations; their times count from `begun`. Who saw them travels where `people` says so.
pub fn to_wire<'a>(
    observations: impl Iterator<Item = &'a Observation>,
    begun: Moment,
    comma: bool,
    people: bool,
    texts: &mut Collected,
) -> v1::Observations {
    let mut wire = v1::Observations::default();
    let (mut last, mut typed_skip, mut note_skip) = (begun.0, 0, 0);
    for seen in observations {
        let (form, usual) = row(seen, comma, &mut wire, texts);
        let head = subject(&seen.of, &mut wire, texts) * FORMS + form;
        wire.rows.0.push(Row { head, after: seen.at.0.wrapping_sub(last) });
        last = seen.at.0;
        aside(&mut wire.typed.0, &mut typed_skip, (seen.typed != usual).then(|| texts.word(&seen.typed)));
        aside(&mut wire.notes.0, &mut note_skip, (!seen.note.is_empty()).then(|| texts.word(&seen.note)));
        let by = if people { texts.word(&seen.by) } else { Word(0) };
        match wire.by.0.last_mut() {
            Some(run) if run.by == by => run.rows += 1,
            _ => wire.by.0.push(Run { rows: 1, by }),
        }
    }
    if wire.by.0.last().is_some_and(|run| run.by == Word(0)) {
        wire.by.0.pop();
    }
    wire
}

pub fn is_over(wire: &v1::Observations) -> bool {
    let v1::Observations { rows, steps, decimals, codes, words, typed, notes, by } = wire;
    let texts = words.is_over() || typed.is_over() || notes.is_over() || by.is_over();
    texts || rows.is_over() || steps.is_over() || decimals.is_over() || codes.is_over()
}

fn aside(column: &mut Vec<Aside>, skip: &mut u32, text: Option<Word>) {
    match text {
        Some(text) => column.push(Aside { skip: std::mem::take(skip), text }),
        None => *skip += 1,
    }
}

fn subject(of: &Subject, wire: &mut v1::Observations, texts: &mut Collected) -> u32 {
    match of {
        Subject::Hold(hold) => {
            wire.codes.0.extend(hold_codes(*hold));
            HOLD
        }
        Subject::Card(card) => {
            wire.words.0.push(texts.word(card));
            CARD
        }
        Subject::Alarm(alarm) => {
            wire.words.0.push(texts.word(alarm));
            ALARM
        }
        Subject::Item { list, item } => {
            wire.words.0.extend([texts.word(list), texts.word(item)]);
            ITEM
        }
        Subject::Check(check) => FIRST_CHECK + u32::from(numbers::to(CHECKS, *check)),
    }
}

/// Puts what was seen into the columns: its form, and the text that it would be typed as.
fn row(seen: &Observation, comma: bool, wire: &mut v1::Observations, texts: &mut Collected) -> (u32, String) {
    let mut other = |code: u64, usual: &str| {
        wire.codes.0.push(code);
        (OTHER, usual.to_string())
    };
    match &seen.seen {
        Seen::Done => (DONE, String::new()),
        Seen::BeyondRange => other(BEYOND_RANGE, OPEN),
        Seen::NotApplicable => other(NOT_APPLICABLE, ""),
        Seen::Withdrawn => other(WITHDRAWN, ""),
        Seen::Answer(answer) => {
            wire.words.0.push(texts.word(answer));
            (ANSWER, String::new())
        }
        Seen::Figure(shown) => {
            let kind = shown.figure.kind();
            let known = kind_of(&seen.of) == Some(kind);
            let plain = plain(shown).filter(|_| known || kind_of(&seen.of).is_none());
            if !known || plain.is_none() {
                wire.codes.0.push(u64::from(numbers::to(KINDS, kind)));
            }
            match plain {
                Some((form, steps)) => {
                    wire.steps.0.push(steps);
                    (form, written(steps, form, comma))
                }
                None => {
                    wire.decimals.0.extend([Decimal(shown.figure.value()), Decimal(shown.digit)]);
                    (FIGURE, String::new())
                }
            }
        }
    }
}

/// What is left of each column.
struct Columns {
    steps: std::vec::IntoIter<i64>,
    decimals: std::vec::IntoIter<Decimal>,
    codes: std::vec::IntoIter<u64>,
    words: std::vec::IntoIter<Word>,
    typed: Asides,
    notes: Asides,
    by: Runs,
}

/// Texts beside some of the rows.
struct Asides {
    all: std::vec::IntoIter<Aside>,
    /// Rows to pass over, and the text after them.
    next: Option<Aside>,
}

impl Asides {
    fn new<const MOST: usize>(few: Few<Aside, MOST>) -> Asides {
        let mut all = few.0.into_iter();
        Asides { next: all.next(), all }
    }

    /// The text of this row, if it has one.
    fn row(&mut self) -> Option<Word> {
        match self.next.as_mut()? {
            Aside { skip: 0, text } => {
                let text = *text;
                self.next = self.all.next();
                Some(text)
            }
            Aside { skip, .. } => {
                *skip -= 1;
                None
            }
        }
    }
}

struct Runs {
    all: std::vec::IntoIter<Run>,
    now: Run,
}

impl Runs {
    fn row(&mut self) -> Result<Word, Broken> {
        if self.now.rows == 0 {
            match self.all.next() {
                None => return Ok(Word(0)),
                Some(run) if run.rows == 0 => return Err(Broken::Damaged),
                Some(run) => self.now = run,
            }
        }
        self.now.rows -= 1;
        Ok(self.now.by)
    }
}

fn next<T>(column: &mut std::vec::IntoIter<T>) -> Result<T, Broken> {
    column.next().ok_or(Broken::Damaged)
}

pub fn from_wire(
    wire: v1::Observations,
    begun: Moment,
    comma: bool,
    texts: &mut Texts,
) -> Result<Vec<Observation>, Broken> {
    let mut columns = Columns {
        steps: wire.steps.0.into_iter(),
        decimals: wire.decimals.0.into_iter(),
        codes: wire.codes.0.into_iter(),
        words: wire.words.0.into_iter(),
        typed: Asides::new(wire.typed),
        notes: Asides::new(wire.notes),
        by: Runs { all: wire.by.0.into_iter(), now: Run { rows: 0, by: Word(0) } },
    };
    let mut at = begun.0;
    let mut all = Vec::new();
    for row in wire.rows.0 {
        at = at.wrapping_add(row.after);
        all.push(columns.observation(row.head, Moment(at), comma, texts)?);
    }
    if columns.are_used_up() { Ok(all) } else { Err(Broken::Damaged) }
}

impl Columns {
    fn are_used_up(&self) -> bool {
        let texts = self.typed.next.is_none() && self.notes.next.is_none();
        let by = self.by.now.rows == 0 && self.by.all.len() == 0;
        let figures = self.steps.len() + self.decimals.len() + self.codes.len() + self.words.len();
        texts && by && figures == 0
    }

    /// In the order in which a row takes from the columns: what was seen first, then of what.
    fn observation(&mut self, head: u32, at: Moment, comma: bool, texts: &mut Texts) -> Result<Observation, Broken> {
        let (subject, form) = (head / FORMS, head % FORMS);
        let check = match subject.checked_sub(FIRST_CHECK) {
            Some(number) => {
                let number = u8::try_from(number).map_err(|_| Broken::Damaged)?;
                Some(Subject::Check(numbers::of(CHECKS, number).ok_or(Broken::Damaged)?))
            }
            None => None,
        };
        let known = match &check {
            Some(check) => kind_of(check),
            None => (subject == HOLD).then_some(Kind::Ohms),
        };
        let (seen, usual) = self.seen(form, known, comma, texts)?;
        let of = match check {
            Some(check) => check,
            None => self.subject(subject, texts)?,
        };
        let typed = self.typed.row().map_or(Ok(usual), |word| texts.word(word))?;
        let note = self.notes.row().map_or(Ok(String::new()), |word| texts.word(word))?;
        let by = texts.word(self.by.row()?)?;
        Ok(Observation { of, at, seen, typed, by, note })
    }

    fn subject(&mut self, subject: u32, texts: &mut Texts) -> Result<Subject, Broken> {
        let mut text = || texts.word(next(&mut self.words)?);
        Ok(match subject {
            HOLD => {
                let first = next(&mut self.codes)?;
                Subject::Hold(hold_of(first, || next(&mut self.codes))?.ok_or(Broken::Damaged)?)
            }
            CARD => Subject::Card(text()?),
            ALARM => Subject::Alarm(text()?),
            _ => Subject::Item { list: text()?, item: text()? },
        })
    }

    fn kind(&mut self) -> Result<Kind, Broken> {
        let number = u8::try_from(next(&mut self.codes)?).map_err(|_| Broken::Damaged)?;
        numbers::of(KINDS, number).ok_or(Broken::Damaged)
    }

    /// What was seen, and what it would be typed as.
    fn seen(
        &mut self,
        form: u32,
        known: Option<Kind>,
        comma: bool,
        texts: &mut Texts,
    ) -> Result<(Seen, String), Broken> {
        let figure = |kind: Kind, value: f64| Figure::new(kind, value).map_err(|_| Broken::Damaged);
        let plain = |seen: Seen| Ok((seen, String::new()));
        match form {
            0..=LAST_PLAIN => {
                let kind = known.map_or_else(|| self.kind(), Ok)?;
                let steps = next(&mut self.steps)?;
                let power = -(form as i32);
                let shown = Shown { figure: figure(kind, value(steps, power))?, digit: value(1, power) };
                Ok((Seen::Figure(shown), written(steps, form, comma)))
            }
            FIGURE => {
                let kind = self.kind()?;
                let Decimal(value) = next(&mut self.decimals)?;
                let Decimal(digit) = next(&mut self.decimals)?;
                if digit < 0.0 {
                    return Err(Broken::Damaged);
                }
                plain(Seen::Figure(Shown { figure: figure(kind, value)?, digit }))
            }
            DONE => plain(Seen::Done),
            ANSWER => plain(Seen::Answer(texts.word(next(&mut self.words)?)?)),
            _ => match next(&mut self.codes)? {
                BEYOND_RANGE => Ok((Seen::BeyondRange, OPEN.to_string())),
                NOT_APPLICABLE => plain(Seen::NotApplicable),
                WITHDRAWN => plain(Seen::Withdrawn),
                _ => Err(Broken::Damaged),
            },
        }
    }
}
