//! Engine files from strangers: what passes the check can be asked anything.

use measure::engine::Engine;

/// Puts the bytes to it.
///
/// # Panics
/// When what must hold does not.
pub fn put(bytes: &[u8]) {
    let Ok(text) = std::str::from_utf8(bytes) else { return };
    let options =
        ron::Options::default().with_default_extension(ron::extensions::Extensions::IMPLICIT_SOME);
    let Ok(engine) = options.from_str::<Engine>(text) else { return };
    let Ok(engine) = engine.check() else { return };
    for cylinder in engine.all() {
        let _ = engine.bank_of(cylinder);
    }
    let _ = engine.coil_pairs();
}
