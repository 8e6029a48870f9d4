//! One season told event by event.

/// What happened.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum What {
    /// The window opened.
    WindowOpens,
    /// An outfit set out for the field, or began at once.
    Starts,
    /// Work stopped with some left.
    Stops,
    /// All of its area is done.
    Done,
    /// Given up with some or all undone.
    GivenUp,
    /// What comes before is to be done again.
    DoneAgain,
    /// A maximum lag was missed.
    LagMissed,
    /// Land that was abandoned goes to this crop.
    TakesOver,
    /// It is to be done, as was decided.
    TakenOn,
    /// It is not to be done, as was decided.
    LeftOut,
}

/// Why it happened.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Why {
    /// Nothing to add.
    None,
    /// The working hours ended.
    HoursEnd,
    /// A job of better rank called the outfit away.
    CalledAway,
    /// It caught up with the work before it.
    CaughtUp,
    /// The end of the last day of its window.
    LatestPassed,
    /// What had to come before was not done.
    Predecessor,
    /// It had waited too long after the work before it.
    LagMissed,
    /// It was done before the season is taken up.
    BeforeToday,
}

/// A row of a trace.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Entry {
    /// Index of the job.
    pub job: usize,
    /// Index of the outfit, where one is at it.
    pub outfit: Option<usize>,
    /// Mask of the machines that it has taken; none where no outfit is at it.
    pub machines: u128,
    /// Mask of the people.
    pub people: u64,
    /// What happened.
    pub what: What,
    /// Why.
    pub why: Why,
}

impl What {
    /// The words for it.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::WindowOpens => "window opens",
            Self::Starts => "starts",
            Self::Stops => "stops",
            Self::Done => "done",
            Self::GivenUp => "given up",
            Self::DoneAgain => "to be done again",
            Self::LagMissed => "maximum lag missed",
            Self::TakesOver => "takes over abandoned land",
            Self::TakenOn => "taken on by decision",
            Self::LeftOut => "left out by decision",
        }
    }
}

impl Why {
    /// The words for it; empty where there is nothing to add.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::None => "",
            Self::HoursEnd => "hours end",
            Self::CalledAway => "called to work of better rank",
            Self::CaughtUp => "caught up with the work before it",
            Self::LatestPassed => "last day of its window",
            Self::Predecessor => "what comes before it was not done",
            Self::LagMissed => "waited too long after the work before it",
            Self::BeforeToday => "was done before today",
        }
    }
}
