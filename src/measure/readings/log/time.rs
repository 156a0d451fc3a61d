//! Forms in which loggers write the time of a row.
//!
//! Numbers, a clock, or a date with a clock; dates are the calendar crate's matter. It must not
//! put times in order.

use jiff::civil::DateTime;
use jiff::fmt::temporal::Pieces;
use jiff::tz::Offset;

use super::number::number;

/// How times are written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum TimeForm {
    /// A number of seconds.
    Seconds,
    /// A number of milliseconds.
    Milliseconds,
    /// A number of microseconds.
    Microseconds,
    /// A number of minutes.
    Minutes,
    /// `12:34:56.789` or `34:56.789`, without a date.
    Clock,
    /// A date and time as ISO 8601 has it.
    Stamp,
    /// A date and time in another order; by its number.
    Dated(usize),
}

/// Orders of day, month and year beside ISO's, and their names.
pub(super) const ORDERS: [(&str, &str); 6] = [
    ("%d.%m.%Y %H:%M:%S%.f", "day.month.year"),
    ("%d/%m/%Y %H:%M:%S%.f", "day/month/year"),
    ("%m/%d/%Y %H:%M:%S%.f", "month/day/year"),
    ("%d-%m-%Y %H:%M:%S%.f", "day-month-year"),
    ("%Y/%m/%d %H:%M:%S%.f", "year/month/day"),
    ("%d.%m.%y %H:%M:%S%.f", "day.month.year"),
];

/// A time that was read.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Moment {
    /// Seconds from whatever zero the form has.
    pub(super) seconds: f64,
    /// Offset from universal time, s, if one was written.
    pub(super) zone: Option<i32>,
}

impl TimeForm {
    /// What a report calls it.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Seconds => "seconds",
            Self::Milliseconds => "milliseconds",
            Self::Microseconds => "microseconds",
            Self::Minutes => "minutes",
            Self::Clock => "clock",
            Self::Stamp => "date and time",
            Self::Dated(order) => ORDERS[order].1,
        }
    }

    /// What a number is divided by to be seconds, for forms that are numbers.
    #[inline]
    pub(super) fn divisor(self) -> Option<f64> {
        match self {
            Self::Seconds => Some(1.0),
            Self::Milliseconds => Some(1e3),
            Self::Microseconds => Some(1e6),
            Self::Minutes => Some(1.0 / 60.0),
            Self::Clock | Self::Stamp | Self::Dated(_) => None,
        }
    }

    /// Reads one time.
    pub(super) fn read(self, field: &[u8], point: u8) -> Option<Moment> {
        let plain = |seconds| Some(Moment { seconds, zone: None });
        if let Some(divisor) = self.divisor() {
            return plain(number(field, point)? / divisor);
        }
        let text = std::str::from_utf8(field).ok()?.trim();
        match self {
            Self::Clock => plain(clock(text)?),
            Self::Stamp => stamp(text),
            Self::Dated(order) => {
                let date = DateTime::strptime(ORDERS[order].0, text.replace(',', ".")).ok()?;
                plain(since_epoch(date, Offset::UTC)?)
            }
            _ => None,
        }
    }

    /// Forms with a clock that fit a field.
    pub(super) fn fitting(field: &[u8]) -> Vec<Self> {
        let dated = (0..ORDERS.len()).map(Self::Dated);
        let mut forms: Vec<Self> = [Self::Clock, Self::Stamp].into_iter().chain(dated).collect();
        forms.retain(|form| form.read(field, b'.').is_some());
        forms
    }
}

/// Seconds of the day, or of the hour where no hours are written.
fn clock(text: &str) -> Option<f64> {
    let text = text.replace(',', ".");
    let mut total = 0.0;
    let mut parts = 0;
    for part in text.split(':') {
        let last_allowed = part.bytes().all(|b| b.is_ascii_digit() || b == b'.');
        if part.is_empty() || !last_allowed {
            return None;
        }
        let value: f64 = part.parse().ok()?;
        if parts > 0 && value >= 60.0 {
            return None;
        }
        total = total * 60.0 + value;
        parts += 1;
    }
    (2..=3).contains(&parts).then_some(total)
}

fn stamp(text: &str) -> Option<Moment> {
    let pieces = Pieces::parse(text).ok()?;
    let date = pieces.date().to_datetime(pieces.time()?);
    let offset = pieces.to_numeric_offset();
    let seconds = since_epoch(date, offset.unwrap_or(Offset::UTC))?;
    Some(Moment { seconds, zone: offset.map(Offset::seconds) })
}

fn since_epoch(date: DateTime, offset: Offset) -> Option<f64> {
    let stamp = offset.to_timestamp(date).ok()?;
    #[expect(clippy::cast_precision_loss, reason = "seconds of our time are far below 2^52")]
    let whole = stamp.as_second() as f64;
    Some(whole + f64::from(stamp.subsec_nanosecond()) / 1e9)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_form_reads_its_own() {
        for (form, text, seconds) in [
            (TimeForm::Seconds, "12.5", Some(12.5)),
            (TimeForm::Milliseconds, "12500", Some(12.5)),
            (TimeForm::Minutes, "0.5", Some(30.0)),
            (TimeForm::Clock, "01:02:03.5", Some(3723.5)),
            (TimeForm::Clock, "02:03,5", Some(123.5)),
            (TimeForm::Clock, "1:75:00", None),
            (TimeForm::Clock, "12.5", None),
            (TimeForm::Stamp, "1970-01-01T00:01:00Z", Some(60.0)),
            (TimeForm::Stamp, "1970-01-01 00:01:00.25", Some(60.25)),
            (TimeForm::Stamp, "1970-01-01T01:01:00+01:00", Some(60.0)),
            (TimeForm::Stamp, "1970-01-01", None),
            (TimeForm::Dated(0), "02.01.1970 00:00:01,5", Some(86_401.5)),
            (TimeForm::Dated(2), "01/02/1970 00:00:01", Some(86_401.0)),
            (TimeForm::Dated(0), "31.02.1970 00:00:01", None),
        ] {
            let read = form.read(text.as_bytes(), b'.').map(|m| m.seconds);
            assert_eq!(read, seconds, "{form:?} {text}");
        }
    }

    #[test]
    fn a_zone_is_kept_and_an_unclear_date_fits_twice() {
        let zone = |text: &str| TimeForm::Stamp.read(text.as_bytes(), b'.').and_then(|m| m.zone);
        assert_eq!(zone("2026-03-02T08:00:00+02:00"), Some(7200));
        assert_eq!(zone("2026-03-02T08:00:00"), None);
        let both = TimeForm::fitting(b"03/04/2026 08:00:00");
        assert_eq!(both, [TimeForm::Dated(1), TimeForm::Dated(2)]);
        assert_eq!(TimeForm::fitting(b"13/04/2026 08:00:00"), [TimeForm::Dated(1)]);
        assert_eq!(TimeForm::fitting(b"652.5"), []);
    }
}
