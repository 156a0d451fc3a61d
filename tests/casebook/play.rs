//! A play: in whose manner a job is gone through, how it ended, and what was done on the way.
//!
//! Only what is written down; it must not say whether it was right, which is for the score.

/// What is read before the program is asked, and how a person differs from the letter.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Manner {
    /// The point that is complained of.
    Complaint,
    /// Every point at once.
    All,
    /// Idle only, with the complaint not given.
    Idle,
    /// A person: one number misread, one finding entered twice, a tool that is missing, parts put
    /// back of his own accord in every other job.
    Human,
}

impl Manner {
    pub(crate) const ALL: [Self; 4] = [Self::Complaint, Self::All, Self::Idle, Self::Human];
}

/// How a job ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum End {
    Proven,
    Normal,
    NotFound,
    Stopped,
    /// It went on and on.
    Endless,
    /// What `next` said to type was refused.
    Refused,
}

impl End {
    pub(crate) fn word(self) -> &'static str {
        match self {
            Self::Proven => "proven",
            Self::Normal => "normal",
            Self::NotFound => "not-found",
            Self::Stopped => "stopped",
            Self::Endless => "endless",
            Self::Refused => "refused",
        }
    }
}

/// What was done in a play and what came of it.
#[expect(clippy::struct_excessive_bools, reason = "each a thing that happened or did not")]
pub(crate) struct Play {
    pub(crate) end: End,
    /// Steps as `never` names them.
    pub(crate) steps: Vec<String>,
    pub(crate) hands_on: f64,
    /// New engine parts that cured nothing.
    pub(crate) sound_parts: usize,
    /// Parts left exchanged that the end does not speak of.
    pub(crate) left_exchanged: bool,
    /// Runs at load while a hot cylinder had been seen.
    pub(crate) load_breaks: usize,
    /// Tests done again with nothing touched since.
    pub(crate) repeats: usize,
    /// STOP was said while something hot was on a display.
    pub(crate) stop_said: bool,
    /// A really hot cylinder showed on a display.
    pub(crate) saw_heat: bool,
    /// The fault last put right, as the program proves it.
    pub(crate) proven: Option<String>,
    /// Remedies that ended something.
    pub(crate) cures: Vec<String>,
    /// Largest fault left, °C.
    pub(crate) left: f64,
    pub(crate) hot_left: bool,
    /// What was refused, for the reader of a failed play.
    pub(crate) refusal: String,
}

impl Play {
    /// Nothing was done yet; what never comes to an end stays so.
    pub(crate) fn begun() -> Self {
        Self {
            end: End::Endless,
            steps: Vec::new(),
            hands_on: 0.0,
            sound_parts: 0,
            left_exchanged: false,
            load_breaks: 0,
            repeats: 0,
            stop_said: false,
            saw_heat: false,
            proven: None,
            cures: Vec::new(),
            left: 0.0,
            hot_left: false,
            refusal: String::new(),
        }
    }
}
