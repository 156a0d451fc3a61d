//! Colours of extension cable, and the traps between national codes.
//!
//! Current codes only, as data: which colour a type has, and which types a colour may mean. It must
//! not decide what a cable is: a colour is a hint, a magnet and a known temperature are proof.

use crate::named_enum;

use super::Standard;

named_enum! {
    /// A colour code in force.
    Code, "colour code" {
        /// IEC 60584-3.
        Iec = "iec",
        /// ASTM E230 and ANSI MC96.1, extension grade.
        Astm = "astm",
    }
}

named_enum! {
    /// A colour of insulation.
    Colour, "colour" {
        /// Green.
        Green = "green",
        /// Pink.
        Pink = "pink",
        /// Black.
        Black = "black",
        /// Violet or purple.
        Violet = "violet",
        /// Brown.
        Brown = "brown",
        /// Orange.
        Orange = "orange",
        /// Grey.
        Grey = "grey",
        /// Yellow.
        Yellow = "yellow",
        /// Blue.
        Blue = "blue",
        /// White.
        White = "white",
        /// Red.
        Red = "red",
    }
}

/// Colours of one type's extension cable in one code.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Cable {
    /// The sheath over both legs.
    pub sheath: Colour,
    /// The positive leg.
    pub positive: Colour,
    /// The negative leg.
    pub negative: Colour,
    /// Whether the row was seen in a published chart; else it is from memory, unverified.
    pub seen: bool,
}

/// The extension cable of a type in a code.
#[must_use]
pub fn cable(standard: Standard, code: Code) -> Cable {
    use Standard::{B, E, J, K, N, R, S, T};
    let seen = matches!(standard, K | J | E | B);
    let sheath = match (code, standard) {
        (Code::Iec, K) | (Code::Astm, R | S) => Colour::Green,
        (Code::Iec, N) => Colour::Pink,
        (Code::Iec | Code::Astm, J) => Colour::Black,
        (Code::Iec | Code::Astm, E) => Colour::Violet,
        (Code::Iec, T) => Colour::Brown,
        (Code::Iec, R | S) | (Code::Astm, N) => Colour::Orange,
        (Code::Iec | Code::Astm, B) => Colour::Grey,
        (Code::Astm, K) => Colour::Yellow,
        (Code::Astm, T) => Colour::Blue,
    };
    let positive = match (code, standard) {
        (Code::Astm, J) => Colour::White,
        (Code::Astm, R | S) => Colour::Black,
        _ => sheath,
    };
    let negative = match code {
        Code::Iec => Colour::White,
        Code::Astm => Colour::Red,
    };
    Cable { sheath, positive, negative, seen }
}

/// Every code and type whose sheath has this colour: more than one is a trap.
#[must_use]
pub fn meanings(sheath: Colour) -> Vec<(Code, Standard)> {
    Code::ALL
        .iter()
        .flat_map(|&code| Standard::ALL.iter().map(move |&standard| (code, standard)))
        .filter(|&(code, standard)| cable(standard, code).sheath == sheath)
        .collect()
}

named_enum! {
    /// A way the colours mislead.
    Trap, "colour trap" {
        /// Red is the negative leg in the American code; in several superseded national codes it
        /// was the positive one. Old cable may be either.
        RedEitherWay = "red-either-way",
        /// White is the negative leg of every type in IEC colours, but the positive leg of type J
        /// in the American code.
        WhitePositive = "white-positive",
        /// Black is the positive leg of type J in IEC colours, but of types R and S in the
        /// American code.
        BlackPositive = "black-positive",
        /// The same sheath means another type in the other code.
        SheathOfAnother = "sheath-of-another",
        /// A blue sheath may mean type T (American) or an intrinsically safe circuit of any type
        /// (IEC).
        BlueIsSafe = "blue-is-safe",
    }
}

/// The traps met when a type is wired in a code.
#[must_use]
pub fn traps(standard: Standard, code: Code) -> Vec<Trap> {
    let own = cable(standard, code);
    let mut traps = Vec::new();
    let has = |colour| own.positive == colour || own.negative == colour;
    if has(Colour::Red) {
        traps.push(Trap::RedEitherWay);
    }
    if own.positive == Colour::White || (standard == Standard::J && has(Colour::White)) {
        traps.push(Trap::WhitePositive);
    }
    if own.positive == Colour::Black {
        traps.push(Trap::BlackPositive);
    }
    if meanings(own.sheath).iter().any(|&(_, other)| other != standard && !alike(other, standard)) {
        traps.push(Trap::SheathOfAnother);
    }
    if own.sheath == Colour::Blue {
        traps.push(Trap::BlueIsSafe);
    }
    traps
}

/// Types R and S share one extension cable.
fn alike(a: Standard, b: Standard) -> bool {
    matches!((a, b), (Standard::R, Standard::S) | (Standard::S, Standard::R))
}

/// The leg of a type that a magnet attracts when cold, if one of them is (common practice, no
/// source): the negative of type K, the positive of type J (iron).
#[must_use]
pub fn magnetic_leg(standard: Standard) -> Option<Leg> {
    match standard {
        Standard::K => Some(Leg::Negative),
        Standard::J => Some(Leg::Positive),
        _ => None,
    }
}

named_enum! {
    /// One of the two wires.
    Leg, "leg" {
        /// The positive wire.
        Positive = "positive",
        /// The negative wire.
        Negative = "negative",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn check(standard: Standard, code: Code, sheath: Colour, positive: Colour, negative: Colour) {
        let cable = cable(standard, code);
        assert_eq!((cable.sheath, cable.positive, cable.negative), (sheath, positive, negative));
    }

    #[test]
    fn colours_are_those_of_the_codes() {
        use Colour::{Black, Blue, Brown, Green, Grey, Orange, Pink, Red, Violet, White, Yellow};
        check(Standard::K, Code::Iec, Green, Green, White);
        check(Standard::N, Code::Iec, Pink, Pink, White);
        check(Standard::J, Code::Iec, Black, Black, White);
        check(Standard::E, Code::Iec, Violet, Violet, White);
        check(Standard::T, Code::Iec, Brown, Brown, White);
        check(Standard::R, Code::Iec, Orange, Orange, White);
        check(Standard::S, Code::Iec, Orange, Orange, White);
        check(Standard::B, Code::Iec, Grey, Grey, White);
        check(Standard::K, Code::Astm, Yellow, Yellow, Red);
        check(Standard::N, Code::Astm, Orange, Orange, Red);
        check(Standard::J, Code::Astm, Black, White, Red);
        check(Standard::E, Code::Astm, Violet, Violet, Red);
        check(Standard::T, Code::Astm, Blue, Blue, Red);
        check(Standard::R, Code::Astm, Green, Black, Red);
        check(Standard::B, Code::Astm, Grey, Grey, Red);
    }

    #[test]
    fn a_green_sheath_may_be_platinum_in_america() {
        use Standard::{K, R, S};
        assert_eq!(meanings(Colour::Green), [(Code::Iec, K), (Code::Astm, R), (Code::Astm, S)]);
        assert_eq!(traps(K, Code::Iec), [Trap::SheathOfAnother]);
        assert_eq!(traps(K, Code::Astm), [Trap::RedEitherWay]);
    }

    #[test]
    fn type_j_has_white_as_its_positive_only_in_america() {
        assert!(traps(Standard::J, Code::Astm).contains(&Trap::WhitePositive));
        assert!(traps(Standard::J, Code::Iec).contains(&Trap::WhitePositive));
        assert!(traps(Standard::T, Code::Astm).contains(&Trap::BlueIsSafe));
        assert!(!traps(Standard::R, Code::Iec).contains(&Trap::WhitePositive));
    }
}
