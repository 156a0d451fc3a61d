//! Moments by the clock on the workshop's wall.
//!
//! A journal keeps universal time. Which zone pages show is handed in; it always stands beside the time.

use jiff::Timestamp;
use jiff::tz::{Offset, TimeZone};

/// The zone that pages show times in; universal time where none was handed in.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LocalTime(TimeZone);

impl Default for LocalTime {
    fn default() -> Self {
        Self(TimeZone::UTC)
    }
}

impl LocalTime {
    /// Times of a zone.
    #[must_use]
    pub fn of(zone: TimeZone) -> Self {
        Self(zone)
    }

    /// A moment as "2026-05-04 10:30", for where the zone stands already.
    #[must_use]
    pub fn bare(&self, time: Timestamp) -> String {
        self.0.to_datetime(time).strftime("%Y-%m-%d %H:%M").to_string()
    }

    /// A day as "2026-05-04".
    #[must_use]
    pub fn day(&self, time: Timestamp) -> String {
        self.0.to_datetime(time).strftime("%Y-%m-%d").to_string()
    }

    /// A moment with its zone, as "2026-05-04 10:30 UTC+02:00".
    #[must_use]
    pub fn moment(&self, time: Timestamp) -> String {
        format!("{} {}", self.bare(time), self.zone(time))
    }

    /// The zone at a moment, as "UTC+02:00".
    fn zone(&self, time: Timestamp) -> String {
        let offset = self.0.to_offset(time);
        if offset == Offset::UTC {
            return "UTC".to_owned();
        }
        let minutes = offset.seconds() / 60;
        let sign = if minutes < 0 { '-' } else { '+' };
        format!("UTC{sign}{:02}:{:02}", minutes.abs() / 60, minutes.abs() % 60)
    }

    /// A column of times: its name, which has the zone if that is the same for all, and the cells.
    #[must_use]
    pub fn column(&self, times: &[Timestamp]) -> (String, Vec<String>) {
        let mut zones: Vec<String> = times.iter().map(|time| self.zone(*time)).collect();
        zones.dedup();
        match &zones[..] {
            [] => ("time".to_owned(), Vec::new()),
            [one] => (format!("time, {one}"), times.iter().map(|time| self.bare(*time)).collect()),
            _ => ("time".to_owned(), times.iter().map(|time| self.moment(*time)).collect()),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn time(text: &str) -> Timestamp {
        text.parse().expect("a time")
    }

    /// A rule as POSIX writes it needs no files of zones: one hour ahead in winter, two in summer.
    fn berlin() -> LocalTime {
        LocalTime::of(TimeZone::posix("CET-1CEST,M3.5.0,M10.5.0/3").expect("a zone"))
    }

    #[test]
    fn a_moment_is_shown_by_the_clock_on_the_wall() {
        let late = time("2026-05-04T22:30:00Z");
        assert_eq!(LocalTime::default().moment(late), "2026-05-04 22:30 UTC");
        assert_eq!(berlin().moment(late), "2026-05-05 00:30 UTC+02:00");
        assert_eq!(berlin().day(late), "2026-05-05");
        let west = LocalTime::of(TimeZone::fixed(Offset::from_seconds(-12_600).expect("lawful")));
        assert_eq!(west.moment(late), "2026-05-04 19:00 UTC-03:30");
    }

    #[test]
    fn a_column_has_its_zone_above_it_or_beside_each_time() {
        let summer = [time("2026-05-04T08:30:00Z"), time("2026-05-04T09:00:00Z")];
        let (name, cells) = berlin().column(&summer);
        assert_eq!((name.as_str(), cells[1].as_str()), ("time, UTC+02:00", "2026-05-04 11:00"));
        let both = [time("2026-03-28T12:00:00Z"), time("2026-03-30T12:00:00Z")];
        let (name, cells) = berlin().column(&both);
        assert_eq!(name, "time");
        assert_eq!(cells, ["2026-03-28 13:00 UTC+01:00", "2026-03-30 14:00 UTC+02:00"]);
    }
}
