//! A short fingerprint of a job, for a printed record whose link fits no code: two people, or a person and the app, can see
//! whether record and job are the same.
//!
//! It covers what a link of the job carries (site with its figures, observations and, unless they are left out, people,
//! notes, bank, story, lists, waiting texts), byte for byte as [`link::pack`] packs it. It does not cover photos and what
//! they show, whether the job is put away, and fields of a newer app.

use crate::core::job::Job;
use crate::core::job::link::{self, Leave};
use sha2::{Digest, Sha256};

/// Bits that are shown. To find another job with the fingerprint of a given one takes about 2⁸⁰ tries, beyond what is
/// worth it for a battery; for two of one's own making 2⁴⁰ (arithmetic: the birthday bound).
const BITS: usize = 80;
/// 2⁸⁰ has 25 digits.
const DIGITS: usize = 25;
const GROUP: usize = 5;

/// A fingerprint and what it covers.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Fingerprint {
    /// 25 digits in groups of five, with a space between.
    pub digits: String,
    /// The sections that it does not cover, by choice; captions never count.
    pub left_out: Leave,
}

impl Fingerprint {
    /// Is it the one that a person reads from paper? Spaces and hyphens do not count.
    pub fn is(&self, typed: &str) -> bool {
        let plain = |text: &str| text.chars().filter(|c| !c.is_whitespace() && *c != '-').collect::<String>();
        plain(&self.digits) == plain(typed)
    }
}

/// The fingerprint of a job without the sections to leave.
pub fn fingerprint(job: &Job, leave: &Leave) -> Fingerprint {
    let left_out = Leave { captions: true, ..*leave };
    Fingerprint { digits: grouped(&link::pack(job, &left_out).payload), left_out }
}

fn grouped(payload: &[u8]) -> String {
    let hash = Sha256::digest(payload);
    let number = hash[..BITS / 8].iter().fold(0u128, |number, byte| number << 8 | u128::from(*byte));
    let digits = format!("{number:0DIGITS$}");
    let groups: Vec<&str> = (0..DIGITS / GROUP).map(|group| &digits[group * GROUP..(group + 1) * GROUP]).collect();
    groups.join(" ")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_hash_is_the_standard_s() {
        // SHA-256 of "abc" begins ba7816bf8f01cfea4141 (FIPS 180-2, appendix B.1): as a number, in decimal.
        assert_eq!(grouped(b"abc").replace(' ', ""), format!("{:025}", 0xba78_16bf_8f01_cfea_4141_u128));
    }

    #[test]
    fn every_change_shows_and_paper_can_be_compared() {
        let job = Job { notes: "as left".into(), ..Job::default() };
        let of = |job: &Job, leave: Leave| fingerprint(job, &leave);
        let whole = of(&job, Leave::NOTHING);
        assert_ne!(whole.digits, of(&Job::default(), Leave::NOTHING).digits);
        assert_ne!(whole.digits, of(&job, Leave { notes: true, ..Leave::NOTHING }).digits);
        let put_away = Job { archived: true, ..job.clone() };
        assert_eq!(whole, of(&put_away, Leave::NOTHING));
        assert!(whole.is(&whole.digits.replace(' ', "-")) && !whole.is("0"));
        assert_eq!(whole.digits.len(), 29);
    }
}
