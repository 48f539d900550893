//! The envelope: one byte version, one byte flags, the body, four bytes checksum.

use super::Broken;
use crc::{CRC_32_ISO_HDLC, Crc};

/// The version that this app writes.
pub const VERSION: u8 = 1;

/// CRC-32/ISO-HDLC, the one of Ethernet, zip and PNG: over version, flags and body; the least byte first. It finds every
/// damage of one bit, and any other with a chance of one in four thousand million to miss it (CRC catalogue of
/// G. Cook; the chance is arithmetic).
const CHECKSUM: Crc<u32> = Crc::<u32>::new(&CRC_32_ISO_HDLC);

/// Version, flags and checksum.
const AROUND: usize = 6;

/// Puts a body into its envelope. No flags: bit 0 is kept for a compressed body, which no version writes.
pub fn seal(body: &[u8]) -> Vec<u8> {
    let mut payload = Vec::with_capacity(body.len() + AROUND);
    payload.extend([VERSION, 0]);
    payload.extend(body);
    let sum = CHECKSUM.checksum(&payload);
    payload.extend(sum.to_le_bytes());
    payload
}

/// The body of a whole payload of this version.
pub fn open(payload: &[u8]) -> Result<&[u8], Broken> {
    let (inside, sum) = payload.split_last_chunk::<4>().ok_or(Broken::Damaged)?;
    let [version, flags, body @ ..] = inside else { return Err(Broken::Damaged) };
    if CHECKSUM.checksum(inside) != u32::from_le_bytes(*sum) {
        return Err(Broken::Damaged);
    }
    match (*version, *flags) {
        (VERSION, 0) => Ok(body),
        // Whole, so that it was meant: a flag that this version does not know changes how the body is read.
        (0, _) => Err(Broken::Damaged),
        _ => Err(Broken::Newer),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_body_comes_out_as_it_went_in() {
        for body in [&b""[..], b"x", b"sixty ohms"] {
            assert_eq!(open(&seal(body)), Ok(body));
        }
    }

    #[test]
    fn the_checksum_is_the_catalogue_s() {
        // Check value of CRC-32/ISO-HDLC in the catalogue.
        assert_eq!(CHECKSUM.checksum(b"123456789"), 0xCBF4_3926);
    }

    #[test]
    fn another_version_or_flag_is_newer_only_when_whole() {
        let with = |version: u8, flags: u8| {
            let mut payload = vec![version, flags, 7];
            let sum = CHECKSUM.checksum(&payload);
            payload.extend(sum.to_le_bytes());
            payload
        };
        assert_eq!(open(&with(2, 0)), Err(Broken::Newer));
        assert_eq!(open(&with(1, 1)), Err(Broken::Newer));
        assert_eq!(open(&with(0, 0)), Err(Broken::Damaged));
        let mut broken = with(2, 0);
        broken[2] = 8;
        assert_eq!(open(&broken), Err(Broken::Damaged));
        assert_eq!(open(&[1, 0]), Err(Broken::Damaged));
    }
}
