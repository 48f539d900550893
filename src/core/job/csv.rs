//! The readings of jobs as a table for other programs: one row each, RFC 4180, times in UTC (ISO 8601).

use crate::core::bank::shown::What;
use crate::core::bank::table::Item;
use crate::core::job::{Job, Moment, Observation, Seen, Subject};
use crate::core::power::sheet;

/// The first row.
pub const HEADER: [&str; 9] = ["job", "time", "what", "figure", "unit", "typed", "verdict", "who", "note"];

/// The verdict of a reading that a later one has replaced.
const REPLACED: &str = "replaced";

/// The table of some jobs. `name` says what a reading is of, in words. Figures stand in the base unit with a point as the
/// decimal sign; answers by their key.
pub fn readings<'a>(jobs: impl Iterator<Item = &'a Job>, name: &dyn Fn(&Subject) -> String) -> String {
    let mut text = String::new();
    row(&mut text, HEADER.map(String::from));
    for job in jobs {
        let verdicts = job.site.site().ok().map(|site| job.assess(&site));
        for observation in job.observations.iter().filter(|observation| is_reading(observation)) {
            let (figure, unit) = shown(&observation.seen);
            let counts = job.last(&observation.of).is_some_and(|last| std::ptr::eq(last, observation));
            let verdict = match (&observation.of, &verdicts) {
                _ if !counts => REPLACED,
                (Subject::Check(check), Some(assessment)) => {
                    assessment.of(*check).map_or("", |finding| finding.verdict.key())
                }
                _ => "",
            };
            let [typed, by, note] = [&observation.typed, &observation.by, &observation.note].map(plain);
            let what = plain(&name(&observation.of));
            let site = plain(&job.site.name);
            row(&mut text, [site, iso(observation.at), what, figure, unit, typed, verdict.into(), by, note]);
        }
        for (key, typed) in job.bank.iter() {
            let (figure, unit) = of_bank(key, typed);
            let time = job.bank_at.map(iso).unwrap_or_default();
            let [site, what, typed] = [&job.site.name, key, typed].map(plain);
            row(&mut text, [site, time, what, figure, unit, typed, String::new(), String::new(), String::new()]);
        }
        for (key, typed) in job.power.iter() {
            let shown = sheet::figure_of(key, typed).map(|shown| shown.figure);
            let (figure, unit) = shown.map(|it| (number(it.value()), it.kind().symbol().into())).unwrap_or_default();
            let time = job.power_at.map(iso).unwrap_or_default();
            let [site, what, typed] = [&job.site.name, key, typed].map(plain);
            row(&mut text, [site, time, what, figure, unit, typed, String::new(), String::new(), String::new()]);
        }
    }
    text
}

/// Not the ticks of cards, and not what was taken back.
fn is_reading(observation: &Observation) -> bool {
    observation.seen != Seen::Withdrawn && !matches!(observation.of, Subject::Card(_))
}

fn shown(seen: &Seen) -> (String, String) {
    match seen {
        Seen::Figure(shown) => (number(shown.figure.value()), shown.figure.kind().symbol().into()),
        Seen::BeyondRange => ("beyond-range".into(), String::new()),
        Seen::Answer(key) => (plain(key), String::new()),
        Seen::Done => ("done".into(), String::new()),
        Seen::NotApplicable => ("not-applicable".into(), String::new()),
        Seen::Withdrawn => Default::default(),
    }
}

/// A field of the bank's table, `m2-voltage` or `shown-current`: the figure, where its text can be read.
fn of_bank(key: &str, typed: &str) -> (String, String) {
    let shown = What::ALL.iter().map(|what| Item::shown(*what));
    let mut items = shown.chain(Item::SAID).chain(Item::PLATE).chain([Item::ASKED_VOLTAGE, Item::ASKED_CURRENT]);
    let is_of = |item: &Item| key == item.key || key.strip_suffix(item.key).is_some_and(|of| of.ends_with('-'));
    match items.find(is_of).and_then(|item| item.read(typed).ok().flatten()) {
        Some(shown) => (number(shown.figure.value()), shown.figure.kind().symbol().into()),
        None => Default::default(),
    }
}

/// The shortest number that is read back as the same.
fn number(value: f64) -> String {
    format!("{value}")
}

/// A text that a person typed. A spreadsheet takes a cell that begins with one of these signs for a formula and runs it
/// (OWASP, CSV injection; cited from memory): such a text gets an apostrophe before it, a plain number does not.
fn plain(text: &String) -> String {
    let is_number = text.parse::<f64>().is_ok_and(f64::is_finite);
    let runs = text.starts_with(['=', '+', '-', '@', '\t', '\r', '\n', '＝', '＋', '－', '＠']);
    if runs && !is_number { format!("'{text}") } else { text.clone() }
}

fn row(text: &mut String, fields: [String; HEADER.len()]) {
    for (index, field) in fields.iter().enumerate() {
        if index > 0 {
            text.push(',');
        }
        if field.contains([',', '"', '\n', '\r']) || field.starts_with(' ') || field.ends_with(' ') {
            text.push('"');
            text.push_str(&field.replace('"', "\"\""));
            text.push('"');
        } else {
            text.push_str(field);
        }
    }
    text.push_str("\r\n");
}

/// A moment as `2026-11-25T19:36:21Z`. The calendar is that of days since 1970, the years counted from March so that the
/// day of a leap year comes last.
pub fn iso(at: Moment) -> String {
    const SECONDS: i64 = 24 * 60 * 60;
    let seconds = at.0.div_euclid(1000);
    let (days, second) = (seconds.div_euclid(SECONDS), seconds.rem_euclid(SECONDS));
    // 719468 days from the first of March of year 0 to 1970; 146097 days in 400 years: the Gregorian calendar.
    let days = days + 719_468;
    let (era, day) = (days.div_euclid(146_097), days.rem_euclid(146_097));
    let year = (day - day / 1460 + day / 36_524 - day / 146_096) / 365;
    let day = day - (365 * year + year / 4 - year / 100);
    let month = (5 * day + 2) / 153;
    let day_of_month = day - (153 * month + 2) / 5 + 1;
    let (month, year) = if month < 10 { (month + 3, era * 400 + year) } else { (month - 9, era * 400 + year + 1) };
    format!("{year:04}-{month:02}-{day_of_month:02}T{:02}:{:02}:{:02}Z", second / 3600, second / 60 % 60, second % 60)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::core::entry::{Entry, read};
    use crate::core::job::check::Check;
    use crate::core::units::Kind;

    fn read_back(text: &str) -> Vec<Vec<String>> {
        let mut reader = csv::ReaderBuilder::new().has_headers(false).from_reader(text.as_bytes());
        reader.records().map(|record| record.unwrap().iter().map(String::from).collect()).collect()
    }

    fn observed(typed: &str, at: i64) -> Observation {
        let Ok(Entry::Figure(shown)) = read(typed, Kind::Ohms) else { panic!("{typed} cannot be read") };
        Observation::new(Subject::Check(Check::PairOhmsAtMonitor), Moment(at), Seen::Figure(shown), typed)
    }

    #[test]
    fn another_reader_finds_every_field_as_it_was() {
        let mut job = Job::default();
        job.site.name = "Otter, \"the long one\"\r\n2nd line".into();
        job.observations = vec![observed("118.6", 0), observed("1,2 kΩ", 951_782_400_000)];
        job.observations[1].by = "=HYPERLINK(\"x\")".into();
        job.observations[1].note = "-3 °C outside".into();
        job.bank.put("m2-voltage", "13,31 V".into());
        job.bank.put("m2-whatever", "-7".into());
        job.power.put("joint.1.millivolts", "2,4".into());
        job.power.put("cable.1.name", "=1+1".into());
        job.power_at = Some(Moment(0));
        let rows = read_back(&readings([&job].into_iter(), &|_| "Ohms, H to L".into()));
        let name = job.site.name.as_str();
        assert_eq!(rows[0], HEADER);
        assert_eq!(rows[1], [name, "1970-01-01T00:00:00Z", "Ohms, H to L", "118.6", "Ω", "118.6", REPLACED, "", ""]);
        let last = ["1,2 kΩ", "", "'=HYPERLINK(\"x\")", "'-3 °C outside"];
        assert_eq!(rows[2], [&[name, "2000-02-29T00:00:00Z", "Ohms, H to L", "1200", "Ω"], &last[..]].concat());
        assert_eq!(rows[3], [name, "", "m2-voltage", "13.31", "V", "13,31 V", "", "", ""]);
        assert_eq!(rows[4], [name, "", "m2-whatever", "", "", "-7", "", "", ""]);
        assert_eq!(rows[5], [name, "1970-01-01T00:00:00Z", "cable.1.name", "", "", "'=1+1", "", "", ""]);
        assert_eq!(rows[6], [name, "1970-01-01T00:00:00Z", "joint.1.millivolts", "0.0024", "V", "2,4", "", "", ""]);
        assert_eq!(rows.len(), 7);
    }

    #[test]
    fn times_are_those_of_the_calendar() {
        // By `date -u -d @…` of GNU coreutils.
        for (seconds, text) in [
            (0, "1970-01-01T00:00:00Z"),
            (-1, "1969-12-31T23:59:59Z"),
            (1_709_164_800, "2024-02-29T00:00:00Z"),
            (1_735_689_599, "2024-12-31T23:59:59Z"),
            (4_107_542_400, "2100-03-01T00:00:00Z"),
            (-62_135_596_800, "0001-01-01T00:00:00Z"),
        ] {
            assert_eq!(iso(Moment(seconds * 1000)), text);
        }
        // Any number may stand in a stored text.
        let _ = (iso(Moment(i64::MAX)), iso(Moment(i64::MIN)));
    }
}
