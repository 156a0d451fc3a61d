//! One probability for a cause, wherever on a card it stands.

use judge::diagnosis::Fault;

use super::CardInput;

/// How probable it is that a fault was the cause.
///
/// Of what was put right it is what the verification says, which counts all that the same work
/// cures; of everything else what the diagnosis says.
pub(super) fn of(input: &CardInput<'_>, fault: Fault) -> f64 {
    if input.verification.remedied == Some(fault) {
        return input.verification.probability;
    }
    let suspect = input.assessment.suspects.iter().find(|suspect| suspect.fault == fault);
    suspect.map_or(0.0, |suspect| suspect.probability)
}
