//! What a manager decides: which job comes first, whether to go, how long to stay out, whom to call in.

use super::plan::Plan;
use crate::farm::Farm;
use crate::farm::spec::Straw;
#[cfg(doc)]
use crate::farm::spec::TILLAGE;
use crate::weather::{Sky, Yesterday};

/// A decision that could not be made; the season stops with it.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{0}")]
pub struct PolicyError(pub String);

/// What a day suits, as whoever looks out in the morning sees it. It knows nothing of other days.
#[derive(Debug, Clone, Copy)]
pub struct Today<'a> {
    pub(super) plan: &'a Plan,
    pub(super) sky: &'a Sky,
    pub(super) day: usize,
}

impl Today<'_> {
    /// Whether the day suits a work class on a soil, and has hours for it; indices into the farm's
    /// [`classes`](Farm::classes) and [`soils`](Farm::soils).
    #[must_use]
    pub fn suits(&self, class: usize, soil: usize) -> bool {
        let key = class * self.plan.farm.soils.len() + soil;
        let open = self.plan.class_hours[class].on(self.day).iter().any(|open| open.start < open.end);
        open && self.sky.suitable(key, self.day)
    }
}

/// A job at a moment of decision.
#[derive(Debug, Clone, Copy)]
pub struct JobView<'a> {
    /// The farm.
    pub farm: &'a Farm,
    /// Index of the job.
    pub job: usize,
    /// Day of the season, 0 the first.
    pub day: u32,
    /// Expected suitable working hours from today to the end of the due day, less the hours that the
    /// operation still needs on all its fields.
    pub slack_h: f64,
    /// The slack in suitable days: slack over today's working hours. "Days in hand".
    pub days_in_hand: f64,
    /// Probability of a suitable day for this work today, as the table has it; today is one.
    pub p_today: f64,
    /// Whether work that comes after this kind on some field is ready on this day too, and has clearly fewer
    /// suitable days: on a drilling day the plough gives way.
    pub gives_way: bool,
    /// Whether the job has been begun.
    pub started: bool,
    /// Area left in ha.
    pub area_left_ha: f64,
    /// What today suits.
    pub today: Today<'a>,
    /// Rain and soil as they were at yesterday's close. `None` where days are drawn from a table, which has no soil,
    /// and before the first day of a record.
    pub yesterday: Option<Yesterday<'a>>,
}

/// The farm at the start of a day.
#[derive(Debug, Clone, Copy)]
pub struct DayView<'a> {
    /// The farm.
    pub farm: &'a Farm,
    /// Day of the season, 0 the first.
    pub day: u32,
    /// The fewest days in hand of any operation that could be worked today.
    pub least_days_in_hand: f64,
    /// The overtime allowed on the six days before, in hours.
    pub overtime_week_h: f64,
    /// What today suits.
    pub today: Today<'a>,
    /// Rain and soil as they were at yesterday's close; as in [`JobView`].
    pub yesterday: Option<Yesterday<'a>>,
}

/// A field when it is decided what becomes of its straw or its seedbed.
#[derive(Debug, Clone, Copy)]
pub struct FieldView<'a> {
    /// The farm.
    pub farm: &'a Farm,
    /// Index of the field.
    pub field: usize,
    /// Index of the crop whose straw or seedbed it is.
    pub crop: usize,
    /// Day of the season, 0 the first.
    pub day: u32,
    /// The fewest days in hand of any work that is still to be done on the field; infinite if there is none whose due
    /// day is known.
    pub days_in_hand: f64,
    /// The fewest days in hand of any operation that could be worked this morning; infinite if none could.
    pub least_days_in_hand: f64,
    /// What today suits.
    pub today: Today<'a>,
    /// Rain and soil as they were at yesterday's close; as in [`JobView`].
    pub yesterday: Option<Yesterday<'a>>,
}

/// The decisions. Each has a default that does what a manager does; a policy of one season starts afresh
/// in the next.
pub trait Policy {
    /// Forgets what it remembers; called before every season.
    fn begin(&mut self, _season: u64) {}

    /// Whether [`rank`](Self::rank) and [`hold`](Self::hold) say the same for every field of an operation on
    /// one soil. Then they are asked once a day for all of them, with the field that would come first, and of
    /// two operations that rank alike one goes first with all its fields. Only a policy that never looks at
    /// the field may say yes.
    fn fields_rank_alike(&self) -> bool {
        false
    }

    /// The rank of a ready job on a day that suits it: the lowest goes first. Asked once a day and once
    /// when a job becomes ready.
    ///
    /// By default the fewest whole days in hand go first; of those with as many, the scarcest kind of day.
    /// What gives way to later work (the plough on a drilling day) goes after all that does not. Equal
    /// ranks go to a field already begun, then to the nearest.
    ///
    /// # Errors
    ///
    /// Whatever keeps the policy from deciding.
    fn rank(&mut self, job: &JobView<'_>) -> Result<f64, PolicyError> {
        let last = if job.gives_way { 1e6 } else { 0.0 };
        Ok(last + job.days_in_hand.floor() * 10.0 + job.p_today)
    }

    /// Whether to leave a job alone today although it could be worked. Never, by default.
    ///
    /// # Errors
    ///
    /// Whatever keeps the policy from deciding.
    fn hold(&mut self, _job: &JobView<'_>) -> Result<bool, PolicyError> {
        Ok(false)
    }

    /// Overtime today in hours; everyone's own limit holds as well. By default all of it when an
    /// operation that could be worked today has no days in hand, else none.
    ///
    /// # Errors
    ///
    /// Whatever keeps the policy from deciding.
    fn overtime_h(&mut self, day: &DayView<'_>) -> Result<f64, PolicyError> {
        Ok(if day.least_days_in_hand < 0.0 { f64::INFINITY } else { 0.0 })
    }

    /// Whether to call a contractor who could come for this job. By default always if the farm says so,
    /// or, where it says `only_if_behind`, when no days are in hand.
    ///
    /// # Errors
    ///
    /// Whatever keeps the policy from deciding.
    fn hire(&mut self, job: &JobView<'_>, only_if_behind: bool) -> Result<bool, PolicyError> {
        Ok(!only_if_behind || job.days_in_hand < 0.0)
    }

    /// Whether [`outfit`](Self::outfit) is asked at all.
    fn names_outfits(&self) -> bool {
        false
    }

    /// Which of the operation's outfits alone may take a job today, an index into the row's
    /// [`outfits`](crate::farm::Row::outfits); `None` leaves it to whichever can be put together, the preferred first.
    /// Asked once a day for a job that several outfits can do.
    ///
    /// # Errors
    ///
    /// Whatever keeps the policy from deciding.
    fn outfit(&mut self, _job: &JobView<'_>) -> Result<Option<usize>, PolicyError> {
        Ok(None)
    }

    /// What is done with a field's straw, where the farm leaves that open. Asked when its harvest begins. As usual, by
    /// default.
    ///
    /// # Errors
    ///
    /// Whatever keeps the policy from deciding.
    fn straw(&mut self, _field: &FieldView<'_>, usual: Straw) -> Result<Straw, PolicyError> {
        Ok(usual)
    }

    /// How a field's seedbed is made, where the farm leaves that open: an index into [`TILLAGE`]. Asked when what stands on
    /// the field has been seen to; of a field on which nothing stands, on the first day of any window. As usual, by default.
    ///
    /// # Errors
    ///
    /// Whatever keeps the policy from deciding.
    fn tillage(&mut self, _field: &FieldView<'_>, usual: usize) -> Result<usize, PolicyError> {
        Ok(usual)
    }
}

/// The default of every decision.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Manager;

impl Policy for Manager {
    fn fields_rank_alike(&self) -> bool {
        true
    }
}
