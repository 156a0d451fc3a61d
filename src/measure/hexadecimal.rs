//! Bytes as a reader sees them: hashes of files, names of jobs and workshops.

/// Two digits for each byte, small letters.
#[must_use]
pub fn hexadecimal(bytes: &[u8]) -> String {
    let digit = |four: u8| char::from_digit(u32::from(four), 16).unwrap_or('0');
    bytes.iter().flat_map(|byte| [digit(byte >> 4), digit(byte & 15)]).collect()
}

#[cfg(test)]
mod tests {
    use super::hexadecimal;

    #[test]
    fn every_byte_has_two_digits() {
        assert_eq!(hexadecimal(&[0, 9, 10, 0xc3, 0xff]), "00090ac3ff");
        assert_eq!(hexadecimal(&[]), "");
    }
}
