//! Numbers as loggers write them, read without a detour over text.
//!
//! Plain decimals of up to fifteen digits are an integer over a power of ten, both exact in a
//! double, so that one division rounds correctly. Anything else goes to the standard library. It
//! must not take words (`nan`, `inf`) for numbers.

/// Powers of ten that a double holds exactly and fifteen digits can need.
const POWERS: [f64; 16] =
    [1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15];

/// A plain decimal at the start of `text`: its value and length. Nothing for anything else, also
/// for more than fifteen digits.
#[inline]
pub(super) fn plain(text: &[u8], point: u8) -> Option<(f64, usize)> {
    let mut at = usize::from(text.first() == Some(&b'-'));
    let negative = at == 1;
    let mut mantissa = 0_u64;
    let start = at;
    while let Some(digit) = digit(text, at) {
        mantissa = mantissa.wrapping_mul(10).wrapping_add(digit);
        at += 1;
    }
    let mut digits = at - start;
    let mut decimals = 0;
    if text.get(at) == Some(&point) {
        at += 1;
        let from = at;
        while let Some(digit) = digit(text, at) {
            mantissa = mantissa.wrapping_mul(10).wrapping_add(digit);
            at += 1;
        }
        decimals = at - from;
        digits += decimals;
    }
    if digits == 0 || digits > 15 {
        return None;
    }
    #[expect(clippy::cast_precision_loss, reason = "fifteen digits are below 2^53")]
    let value = mantissa as f64 / POWERS[decimals];
    Some((if negative { -value } else { value }, at))
}

#[inline]
fn digit(text: &[u8], at: usize) -> Option<u64> {
    let digit = text.get(at)?.wrapping_sub(b'0');
    (digit < 10).then_some(u64::from(digit))
}

/// A number that fills a field, spaces around it aside.
pub(super) fn number(field: &[u8], point: u8) -> Option<f64> {
    let field = field.trim_ascii();
    if let Some((value, length)) = plain(field, point)
        && length == field.len()
    {
        return Some(value);
    }
    let text = std::str::from_utf8(field).ok()?;
    let lawful = |c: char| c.is_ascii_digit() || "+-eE".contains(c) || c == char::from(point);
    let text = text.replace('−', "-");
    if !text.chars().all(lawful) || !text.contains(|c: char| c.is_ascii_digit()) {
        return None;
    }
    let text = if point == b'.' { text } else { text.replace(char::from(point), ".") };
    text.parse().ok().filter(|value: &f64| value.is_finite())
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    #[test]
    fn numbers_are_read_as_loggers_write_them() {
        for (text, point, expected) in [
            ("652.5", b'.', Some(652.5)),
            ("652,5", b',', Some(652.5)),
            (" -4 ", b'.', Some(-4.0)),
            ("−4,5", b',', Some(-4.5)),
            ("+3", b'.', Some(3.0)),
            (".5", b'.', Some(0.5)),
            ("5.", b'.', Some(5.0)),
            ("1e3", b'.', Some(1000.0)),
            ("1,5E2", b',', Some(150.0)),
            ("123456789012345678901234567890", b'.', Some(1.234_567_890_123_456_8e29)),
            ("0.1234567890123456789", b'.', Some(0.123_456_789_012_345_68)),
            ("652,5", b'.', None),
            ("1.234,5", b',', None),
            ("1e999", b'.', None),
            ("", b'.', None),
            ("-", b'.', None),
            (".", b'.', None),
            ("nan", b'.', None),
            ("inf", b'.', None),
            ("12a", b'.', None),
            ("open", b'.', None),
        ] {
            assert_eq!(number(text.as_bytes(), point), expected, "{text:?}");
        }
    }

    proptest! {
        #[test]
        fn any_number_reads_as_the_standard_library_reads_it(
            text in "-?[0-9]{1,18}(\\.[0-9]{0,18})?"
        ) {
            let expected: f64 = text.parse().expect("a number");
            prop_assert_eq!(number(text.as_bytes(), b'.'), Some(expected));
            let comma = text.replace('.', ",");
            prop_assert_eq!(number(comma.as_bytes(), b','), Some(expected));
        }

        #[test]
        fn no_bytes_bring_the_reader_down(bytes in proptest::collection::vec(any::<u8>(), 0..24)) {
            let _ = number(&bytes, b'.');
            let _ = plain(&bytes, b',');
        }
    }
}
