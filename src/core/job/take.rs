//! Figures from a log of the bus as observations of a job: what can be taken, and the taking.

use crate::core::bus::readings::{Field, Of, Readings, Said, Voice};
use crate::core::entry::Shown;
use crate::core::job::check::Check;
use crate::core::job::{Job, Moment, Observation, Seen, Subject};
use crate::core::units::{AmpereHours, Amperes, CodedVolts, Count, Figure, Percent, Quantity, Volts};

/// Something that a job can take.
#[derive(Clone, Debug, PartialEq)]
pub struct Offer {
    pub check: Check,
    pub seen: Seen,
    /// The figure as it was decoded.
    pub figure: Figure,
    /// Group of the message, and when it was logged; none for a count of senders.
    pub said: Option<Said>,
    /// Taken unless the person says otherwise. The direction of the current means something only with a known load on.
    pub usual: bool,
}

/// Currents below this are none (common practice, no source).
const NO_CURRENT: f64 = 0.5;

/// What the messages of one sender about one bank can tell a job. The steps are those of the coding (RV-C table 5.3).
pub fn offers(readings: &Readings, voice: Voice) -> Vec<Offer> {
    let Some(source) = readings.sources.get(&voice) else { return Vec::new() };
    let bank = match voice.of {
        Of::Bank { instance } => instance,
        Of::Battery { .. } | Of::Switch { .. } => return Vec::new(),
    };
    let taken = |check: Check, figure: Figure, digit: f64, said: Option<Said>| Offer {
        check,
        seen: Seen::Figure(Shown { figure, digit }),
        figure,
        said,
        usual: true,
    };
    let mut offers = Vec::new();
    let modules = readings.batteries(bank);
    if let (true, Ok(count)) = (modules > 0, Count::new(modules as f64)) {
        offers.push(taken(Check::ShownModules, count.into(), 1.0, None));
    }
    let charge = |field: Field| source.figure::<AmpereHours>(field);
    if let Some((capacity, said)) = charge(Field::Capacity) {
        offers.push(taken(Check::ShownCapacity, capacity.into(), 1.0, Some(said)));
    }
    if let Some((state, said)) = source.figure::<Percent>(Field::StateOfCharge) {
        offers.push(taken(Check::ShownSoc, state.into(), 0.5, Some(said)));
    }
    if let Some((remaining, said)) = charge(Field::Remaining) {
        offers.push(taken(Check::ShownCharge, remaining.into(), 1.0, Some(said)));
    }
    let volts = |field: Field, digit: f64| source.figure::<CodedVolts>(field).map(|(volts, said)| (volts, said, digit));
    // Status 5 has 1 mV steps, status 1 has 0.05 V.
    let volts = volts(Field::PreciseVoltage, 0.001).or_else(|| volts(Field::Voltage, 0.05));
    if let Some((volts, said, digit)) = volts
        && let Ok(volts) = Volts::new(volts.get())
    {
        offers.push(taken(Check::ShownVoltage, volts.into(), digit, Some(said)));
    }
    if let Some((current, said)) = source.figure::<Amperes>(Field::Current) {
        // Positive is out of the source (RV-C table 6.5.2b).
        let answer = match current.get() {
            amperes if amperes.abs() < NO_CURRENT => "zero",
            amperes if amperes > 0.0 => "out",
            _ => "in",
        };
        let seen = Seen::Answer(answer.into());
        offers.push(Offer {
            check: Check::CurrentDirection,
            seen,
            figure: current.into(),
            said: Some(said),
            usual: false,
        });
    }
    offers
}

/// Takes what was chosen, each with the text that says where it came from. A text that waits in the field of such a check
/// gives way.
pub fn take(job: &mut Job, chosen: Vec<(Offer, String)>, at: Moment) {
    for (offer, typed) in chosen {
        job.pending.remove(offer.check.key());
        job.see(Observation::new(Subject::Check(offer.check), at, offer.seen, typed));
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::core::bus::capture_line;
    use crate::core::bus::frame::Identifier;

    fn readings(frames: &[(u32, [u8; 8])]) -> Readings {
        let mut readings = Readings::default();
        for (id, data) in frames {
            readings.add(capture_line::Moment::default(), Identifier::extended(*id).unwrap(), data);
        }
        readings
    }

    const OUTPUT: (u32, [u8; 8]) = (0x19FF_FD80, [1, 120, 0x0A, 0x01, 0x9C, 0xF7, 0x35, 0x77]);
    const CHARGE: (u32, [u8; 8]) = (0x19FF_FC80, [1, 120, 0x40, 0x25, 0xA0, 0xFF, 0xFF, 0xFF]);

    fn keys(offers: &[Offer]) -> Vec<(&str, f64, bool)> {
        offers.iter().map(|offer| (offer.check.key(), offer.figure.value(), offer.usual)).collect()
    }

    #[test]
    fn a_bank_offers_what_it_said() {
        let said = readings(&[
            OUTPUT,
            CHARGE,
            (0x19FF_FB80, [1, 120, 200, 0x28, 0x02, 160, 0xFF, 0xFF]),
            (0x19FE_A580, [1, 120, 0xFF, 0xB2, 0x02, 0xFF, 0xFF, 0xFF]),
            (0x19FE_9591, [1, 1, 0x0A, 1, 0, 0, 0, 0]),
            (0x19FE_9592, [2, 1, 0x0A, 1, 0, 0, 0, 0]),
        ]);
        let offers = offers(&said, said.banks()[0]);
        assert_eq!(
            keys(&offers),
            vec![
                ("shown-modules", 2.0, true),
                ("shown-capacity", 690.0, true),
                ("shown-soc", 80.0, true),
                ("shown-charge", 552.0, true),
                ("shown-voltage", 13.3, true),
                ("current-direction", 25.5, false),
            ]
        );
        assert_eq!(offers[5].seen, Seen::Answer("out".into()));
        assert!(matches!(offers[4].seen, Seen::Figure(Shown { digit, .. }) if digit == 0.05));
    }

    #[test]
    fn the_finer_voltage_counts_and_batteries_offer_nothing() {
        let said = readings(&[
            OUTPUT,
            (0x19FE_C880, [1, 120, 0xF8, 0x33, 0, 0, 0xFF, 0xFF]),
            (0x19FE_9591, [1, 1, 0x0A, 1, 0, 0, 0, 0]),
        ]);
        let offered = offers(&said, said.banks()[0]);
        let volts = offered.iter().find(|offer| offer.check == Check::ShownVoltage).unwrap();
        assert_eq!((volts.figure.value(), volts.said.unwrap().group), (13.304, 0x1FEC8));
        let battery = Voice { of: Of::Battery { bank: Some(1), instance: Some(1) }, address: 0x91 };
        assert!(said.sources.contains_key(&battery));
        assert_eq!(offers(&said, battery), vec![]);
    }

    #[test]
    fn what_waits_in_the_field_gives_way() {
        let said = readings(&[CHARGE]);
        let offered = offers(&said, said.banks()[0]);
        let mut job = Job::default();
        job.pending.insert("shown-soc".into(), "7".into());
        job.pending.insert("shown-charge".into(), "500".into());
        take(&mut job, offered.into_iter().map(|offer| (offer, "80 %, from a log".into())).collect(), Moment(9));
        assert_eq!(job.pending.keys().collect::<Vec<_>>(), vec!["shown-charge"]);
        let seen = job.last(&Subject::Check(Check::ShownSoc)).unwrap();
        assert_eq!((seen.at, seen.typed.as_str()), (Moment(9), "80 %, from a log"));
        assert_eq!(seen.origin(), Some("80 %, from a log"));
        let by_hand = Observation { typed: "80 %".into(), ..seen.clone() };
        assert_eq!(by_hand.origin(), None);
    }
}
