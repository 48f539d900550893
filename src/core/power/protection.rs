//! A fuse or breaker against its load, its cable, its place, the bank's voltage and the current of a short circuit.

use super::gathered;
use super::short_circuit::{self, Bank, Prospective, prospective};
use crate::core::because::{Because, Named};
use crate::core::job::assess::{Verdict, Window};
use crate::core::judged::{Judged, Line};
use crate::core::units::{
    AmpereHours, Amperes, FaultAmperes, Metres, Quantity, Seconds, SquareAmpereSeconds, SquareMillimetres, Volts,
};

/// How the conductor runs from the source to the protection.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Way {
    /// Its insulation alone.
    Bare,
    /// In a sheath or an enclosure all the way.
    Sheathed,
    /// The same, from a battery's post.
    SheathedFromPost,
}

impl Way {
    pub fn parse(text: &str) -> Option<Way> {
        match text {
            "bare" => Some(Way::Bare),
            "sheathed" => Some(Way::Sheathed),
            "post" => Some(Way::SheathedFromPost),
            _ => None,
        }
    }

    /// How far from the source protection may sit: 7 in, 40 in (33 CFR 183.455(b)), 72 in (ABYC E-11, from memory).
    fn most(self) -> Metres {
        match self {
            Way::Bare => Metres::of(0.1778),
            Way::Sheathed => Metres::of(1.016),
            Way::SheathedFromPost => Metres::of(1.8288),
        }
    }
}

/// What the conductor is insulated with, for the heat of a short circuit.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Material {
    Pvc,
    /// Cross-linked polyethylene or rubber of 90 °C.
    Xlpe,
}

impl Material {
    pub fn parse(text: &str) -> Option<Material> {
        match text {
            "pvc" => Some(Material::Pvc),
            "xlpe" => Some(Material::Xlpe),
            _ => None,
        }
    }

    /// A·√s/mm², copper (IEC 60364-5-54, from memory).
    fn k(self) -> f64 {
        match self {
            Material::Pvc => 115.0,
            Material::Xlpe => 143.0,
        }
    }
}

/// A protective device and what it stands between. What is left out is not known.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Protection {
    pub load: Option<Amperes>,
    /// Does the load last for hours?
    pub continuous: bool,
    /// What the cable may carry.
    pub cable: Option<Amperes>,
    /// What is printed on the device.
    pub rating: Option<Amperes>,
    /// Nominal voltage of the system.
    pub system: Option<Volts>,
    /// The highest voltage of the bank.
    pub highest: Option<Volts>,
    /// For direct current, as printed on the device.
    pub voltage: Option<Volts>,
    pub interrupt: Option<FaultAmperes>,
    pub bank: Option<Bank>,
    pub distance: Option<Metres>,
    pub way: Option<Way>,
    /// Has each module, or string, protection of its own?
    pub each_has_own: Option<bool>,
    /// Of the whole bank.
    pub capacity: Option<AmpereHours>,
    pub area: Option<SquareMillimetres>,
    pub material: Option<Material>,
    /// How long the device takes to clear a short circuit.
    pub clearing: Option<Seconds>,
}

/// A load that lasts asks for a quarter more (NEC 210.20 and 215.3, from memory).
const CONTINUOUS: f64 = 1.25;
/// From here on a device above its cable is no longer allowed half more (33 CFR 183.455(c)).
const LOW_VOLTS: f64 = 50.0;
const HALF_MORE: f64 = 1.5;
/// Banks from which ABYC E-11 asks more of the device (seen as others quote it).
const LARGE: f64 = 500.0;
const LARGE_CURRENT: f64 = 10_000.0;
const HAIR: f64 = 1e-9;

type Said = (Verdict, Because);

/// The smallest and the greatest device that fits, where both ends are known.
pub fn window(given: &Protection) -> (Option<Amperes>, Option<Amperes>) {
    let factor = if given.continuous { CONTINUOUS } else { 1.0 };
    let least = given.load.and_then(|load| Amperes::new(load.get().abs() * factor).ok());
    (least, given.cable)
}

/// What a short circuit lets through until the device clears, and what the conductor bears: I²t and k²S².
pub fn adiabatic(
    current: FaultAmperes,
    clearing: Seconds,
    area: SquareMillimetres,
    material: Material,
) -> Option<(SquareAmpereSeconds, SquareAmpereSeconds)> {
    let through = current.get() * current.get() * clearing.get();
    let borne = (material.k() * area.get()).powi(2);
    Some((SquareAmpereSeconds::new(through).ok()?, SquareAmpereSeconds::new(borne).ok()?))
}

/// Judges all that is known. None where too little is said for any part.
pub fn judge(given: &Protection) -> Option<Judged> {
    let fault = given.bank.and_then(prospective);
    let parts: [(&'static str, Option<Said>); 6] = [
        ("power-part-size", size(given)),
        ("power-part-place", place(given)),
        ("power-part-voltage", voltage(given)),
        ("power-part-interrupt", interrupt(given, fault)),
        ("power-part-each", each(given)),
        ("power-part-heat", heat(given, fault)),
    ];
    let said: Vec<Said> = parts.iter().filter_map(|(_, said)| said.clone()).collect();
    let mut judged = gathered(said)?;
    // Size, place, voltage and interrupt rating belong to every device: it does not hold before all four are seen.
    let open = |parts: &[(&'static str, Option<Said>)]| -> Vec<Because> {
        let missing = parts.iter().filter(|(_, said)| said.is_none());
        missing.map(|(what, _)| Because::ProtectNotKnown { what: Named::new(*what) }).collect()
    };
    let missing = open(&parts[..4]);
    if judged.verdict == Verdict::Holds && !missing.is_empty() {
        let known = std::mem::replace(&mut judged.because, Because::ProtectPartly {});
        judged.also.insert(0, known);
        judged.verdict = Verdict::LookAgain;
    }
    judged.next = advice(given, fault);
    judged.next.extend(missing);
    judged.sum = sum(given, fault);
    judged.sources = sources(given);
    judged.lines = lines(given);
    Some(judged)
}

fn size(given: &Protection) -> Option<Said> {
    let (least, most) = window(given);
    if let (Some(least), Some(most)) = (least, most)
        && least.get() > most.get() * (1.0 + HAIR)
    {
        return Some((Verdict::Fails, Because::ProtectNoWindow { least, most }));
    }
    let rating = given.rating?;
    match (least, most) {
        (Some(least), _) if rating.get() < least.get() * (1.0 - HAIR) => {
            Some((Verdict::Fails, Because::ProtectTooSmall { rating, least }))
        }
        (_, Some(most)) if rating.get() > most.get() * (1.0 + HAIR) => Some(above(given, rating, most)),
        (Some(least), Some(most)) => Some((Verdict::Holds, Because::ProtectSizeHolds { rating, least, most })),
        _ => None,
    }
}

/// A device above what its cable carries.
fn above(given: &Protection, rating: Amperes, most: Amperes) -> Said {
    let is_low = given.system.is_some_and(|system| system.get().abs() < LOW_VOLTS);
    if is_low && rating.get() <= most.get() * HALF_MORE * (1.0 + HAIR) {
        (Verdict::LookAgain, Because::ProtectHalfMore { rating, most })
    } else {
        (Verdict::Fails, Because::ProtectTooLarge { rating, most })
    }
}

fn place(given: &Protection) -> Option<Said> {
    let (distance, way) = (given.distance?, given.way?);
    let most = way.most();
    let over = distance.get() > most.get() * (1.0 + HAIR);
    Some(match way {
        _ if over => (Verdict::Fails, Because::ProtectTooFar { distance, most }),
        // Longer than the law's own figure: an exception that is cited from memory.
        Way::SheathedFromPost if distance.get() > Way::Sheathed.most().get() * (1.0 + HAIR) => {
            (Verdict::LookAgain, Because::ProtectPostException { distance, most })
        }
        _ => (Verdict::Holds, Because::ProtectNear { distance, most }),
    })
}

fn voltage(given: &Protection) -> Option<Said> {
    let (printed, highest) = (given.voltage?, given.highest?);
    Some(if printed.get() < highest.get() * (1.0 - HAIR) {
        (Verdict::Fails, Because::ProtectVoltsLow { printed, highest })
    } else {
        (Verdict::Holds, Because::ProtectVoltsHold { printed, highest })
    })
}

fn interrupt(given: &Protection, fault: Option<Prospective>) -> Option<Said> {
    let (printed, current) = (given.interrupt?, fault?.at_bus);
    Some(if printed.get() < current.get() * (1.0 - HAIR) {
        (Verdict::Fails, Because::ProtectInterruptLow { printed, current })
    } else {
        (Verdict::Holds, Because::ProtectInterruptHolds { printed, current })
    })
}

fn each(given: &Protection) -> Option<Said> {
    let parallel = given.bank?.parallel;
    if parallel < 2 {
        return None;
    }
    Some(match given.each_has_own? {
        true => (Verdict::Holds, Because::ProtectEachHas { parallel }),
        false => (Verdict::LookAgain, Because::ProtectEachHasNot { parallel }),
    })
}

fn heat(given: &Protection, fault: Option<Prospective>) -> Option<Said> {
    let (area, material, clearing) = (given.area?, given.material?, given.clearing?);
    let (through, borne) = adiabatic(fault?.at_bus, clearing, area, material)?;
    Some(if through > borne {
        (Verdict::Fails, Because::ProtectHeatOver { through, borne })
    } else {
        (Verdict::Holds, Because::ProtectHeatHolds { through, borne })
    })
}

fn advice(given: &Protection, fault: Option<Prospective>) -> Vec<Because> {
    let mut next = Vec::new();
    if let (Some(least), Some(most)) = window(given)
        && least <= most
    {
        next.push(Because::ProtectTake { least, most });
    }
    let is_large = given.capacity.is_some_and(|capacity| capacity.get() > LARGE);
    if is_large && fault.is_some_and(|fault| fault.at_bus.get() > LARGE_CURRENT) {
        next.push(Because::ProtectLargeBank {});
    }
    next
}

fn sum(given: &Protection, fault: Option<Prospective>) -> Vec<Because> {
    let mut sum = Vec::new();
    if let (Some(load), (Some(least), _)) = (given.load, window(given)) {
        sum.push(if given.continuous {
            Because::ProtectLeastLasting { load, least }
        } else {
            Because::ProtectLeast { load }
        });
    }
    if let (Some(bank), Some(fault)) = (given.bank, fault) {
        sum.extend(short_circuit::sum(bank, fault));
    }
    if let (Some(area), Some(clearing)) = (given.area, given.clearing)
        && given.material.is_some()
    {
        sum.push(Because::ProtectHeatSum { area, clearing });
    }
    sum
}

fn lines(given: &Protection) -> Vec<Line> {
    let (Some(rating), (Some(least), Some(most))) = (given.rating, window(given)) else { return Vec::new() };
    let Some((verdict, _)) = size(given).filter(|_| least <= most) else { return Vec::new() };
    let window = Window { low: least.into(), high: most.into(), outer: None, error: 0.0 };
    vec![Line { name: "power-line-fuse", window, reading: rating.into(), verdict }]
}

fn sources(given: &Protection) -> Vec<&'static str> {
    let mut sources = vec!["iec-60364-4-43", "cfr-183-455"];
    let mut also = |is: bool, source| {
        if is {
            sources.push(source);
        }
    };
    also(given.continuous, "nec-continuous");
    also(given.way == Some(Way::SheathedFromPost), "abyc-e-11-post");
    also(given.bank.is_some(), "kirchhoff");
    also(given.capacity.is_some_and(|capacity| capacity.get() > LARGE), "abyc-e-11-large");
    also(given.material.is_some(), "iec-60364-5-54");
    sources.push("practice");
    sources
}
