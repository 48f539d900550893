//! Do two ends of a bus speak the same? And what an installer sees when they do not.

use crate::core::because::{Because, Named};
use crate::core::job::assess::Verdict;
use crate::core::judged::Judged;
use crate::core::units::BitRate;

/// What one end can speak.
#[derive(Clone, Debug, PartialEq)]
pub struct Speaking {
    /// `None`: not known.
    pub protocol: Option<String>,
    pub bit_rate: BitRate,
    /// 11 or 29; 0 over RS-485, which has none.
    pub identifier_bits: u32,
}

/// The pins of an end.
#[derive(Clone, Debug, PartialEq)]
pub struct Socket {
    pub connector: String,
    pub high: u8,
    pub low: u8,
    pub reference: u8,
}

/// One end: a module, a port of a monitor, or figures typed in.
#[derive(Clone, Debug, PartialEq)]
pub struct Speaker {
    /// The name of what has to be set; `None` where figures were typed in.
    pub name: Option<String>,
    pub speaks: Vec<Speaking>,
    pub socket: Option<Socket>,
}

/// What an installer sees of a disagreement.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Symptom {
    WrongBitRate,
    OtherIdentifierLength,
    OtherProtocol,
    NobodyAcknowledges,
    SameAddress,
    OtherPinout,
}

impl Symptom {
    pub const ALL: &'static [Symptom] = &[
        Symptom::WrongBitRate,
        Symptom::OtherIdentifierLength,
        Symptom::OtherProtocol,
        Symptom::NobodyAcknowledges,
        Symptom::SameAddress,
        Symptom::OtherPinout,
    ];

    pub fn key(self) -> &'static str {
        match self {
            Symptom::WrongBitRate => "wrong-bit-rate",
            Symptom::OtherIdentifierLength => "other-identifier-length",
            Symptom::OtherProtocol => "other-protocol",
            Symptom::NobodyAcknowledges => "nobody-acknowledges",
            Symptom::SameAddress => "same-address",
            Symptom::OtherPinout => "other-pinout",
        }
    }
}

/// The verdict with the symptoms to expect.
#[derive(Clone, Debug, PartialEq)]
pub struct Agreement {
    pub judged: Judged,
    pub symptoms: Vec<Symptom>,
}

fn protocol_of(speaking: &Speaking) -> Named {
    match &speaking.protocol {
        Some(key) => Named::new(format!("protocol-{key}")),
        None => Named::new("protocol-unknown"),
    }
}

/// How two profiles differ, the plainest difference first.
fn differences(a: &Speaking, b: &Speaking) -> Vec<(Symptom, Because)> {
    let mut found = Vec::new();
    if a.bit_rate != b.bit_rate {
        let because = Because::RatesDiffer { here: a.bit_rate, there: b.bit_rate };
        found.push((Symptom::WrongBitRate, because));
    }
    // Over RS-485 there are none: that they run over other wires is said by the protocols.
    if a.identifier_bits != b.identifier_bits && a.identifier_bits.min(b.identifier_bits) > 0 {
        let because = Because::IdentifiersDiffer { here: a.identifier_bits, there: b.identifier_bits };
        found.push((Symptom::OtherIdentifierLength, because));
    }
    if let (Some(here), Some(there)) = (&a.protocol, &b.protocol)
        && here != there
    {
        let because = Because::ProtocolsDiffer { here: protocol_of(a), there: protocol_of(b) };
        found.push((Symptom::OtherProtocol, because));
    }
    found
}

/// Do the two ends agree? Where either can speak several, the pair that is closest counts. `None` when an end speaks
/// nothing.
pub fn agree(a: &Speaker, b: &Speaker) -> Option<Agreement> {
    let pairs = a.speaks.iter().flat_map(|here| b.speaks.iter().map(move |there| (here, there)));
    // Of pairs that are alike, one whose protocol is known at both ends says more.
    let (here, there) = pairs.min_by_key(|(here, there)| {
        (differences(here, there).len(), here.protocol.is_none() || there.protocol.is_none())
    })?;
    let differ = differences(here, there);
    let known = here.protocol.is_some() && there.protocol.is_some();
    let mut symptoms: Vec<Symptom> = differ.iter().map(|(symptom, _)| *symptom).collect();
    let mut reasons: Vec<Because> = differ.into_iter().map(|(_, because)| because).collect();
    let mut next = Vec::new();
    let mut verdict = if reasons.is_empty() { Verdict::Holds } else { Verdict::Fails };
    if reasons.is_empty() {
        let (rate, bits) = (here.bit_rate, here.identifier_bits);
        if known {
            let protocol = protocol_of(here);
            reasons.push(match bits {
                0 => Because::ProfilesAgreeSerial { protocol, rate },
                bits => Because::ProfilesAgree { protocol, rate, bits },
            });
            for end in [a, b] {
                if let (Some(name), Some(protocol)) = (&end.name, &here.protocol) {
                    next.push(if end.speaks.len() > 1 {
                        let protocol = Named::new(format!("protocol-{protocol}"));
                        Because::ProfileSet { name: name.clone(), protocol, rate }
                    } else {
                        Because::ProfileFixed { name: name.clone() }
                    });
                }
            }
        } else {
            verdict = Verdict::LookAgain;
            reasons.push(Because::ProfilesAsFar { rate, bits });
            next.push(Because::ProfileAskProtocol {});
        }
    } else {
        next.push(Because::ProfileOtherPort {});
    }
    if let (Some(here), Some(there)) = (&a.socket, &b.socket) {
        let name = |socket: &Socket| Named::new(format!("connector-{}", socket.connector));
        if here.connector != there.connector {
            verdict = verdict.max(Verdict::LookAgain);
            reasons.push(Because::SocketsDiffer { here: name(here), there: name(there) });
            next.push(Because::ProfileRightLead {});
        } else if here != there {
            verdict = Verdict::Fails;
            symptoms.push(Symptom::OtherPinout);
            // The pins outrank all: with them wrong, nothing else can be seen.
            reasons.insert(0, Because::PinsDiffer { connector: name(here) });
            next.insert(0, Because::ProfileRightLead {});
        }
    }
    let mut reasons = reasons.into_iter();
    let mut judged = Judged::new(verdict, reasons.next().unwrap_or(Because::ProfilesNone {}));
    judged.also = reasons.collect();
    judged.next = next;
    judged.sources = vec!["iso-11898-1", "rv-c-overview", "cia-301", "cia-303-1", "practice"];
    Some(Agreement { judged, symptoms })
}
