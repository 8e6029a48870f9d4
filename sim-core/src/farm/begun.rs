//! A season that has begun: what of the farm's work is done by the morning of a day, and what a person can say of it. How
//! the one comes from the other is in [`beginning`].

use super::beginning;
use super::model::Farm;
use super::spec::Straw;

/// What a person says of a season that has begun.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct BegunSpec {
    /// The day of the season on whose morning it is said.
    pub today: u32,
    /// The work done before it.
    pub done: Vec<DoneSpec>,
    /// Whether all else that was due before it is done too, on its due day.
    pub rest_done: bool,
}

/// Work that was done, as it is said.
#[derive(Debug, Clone, PartialEq)]
pub struct DoneSpec {
    /// The crop.
    pub crop: String,
    /// The operation.
    pub operation: String,
    /// The field; `None` = all fields that see the operation.
    pub field: Option<String>,
    /// How much of it in ha, the fields nearest the yard first; `None` = all.
    pub area_ha: Option<f64>,
    /// The day of the season by the end of which it was done.
    pub day: u32,
}

/// A season that has begun.
#[derive(Debug, Clone, PartialEq)]
pub struct Begun {
    /// The day of the season on whose morning it is taken up.
    pub day: u32,
    /// What is done by then, in the order in which it was done.
    pub done: Vec<Done>,
    /// Choices that are made by what is done.
    pub decided: Vec<(usize, Way)>,
}

/// A job done before the season is taken up, or some of it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Done {
    /// Index of the job.
    pub job: usize,
    /// The day by the end of which it was done.
    pub day: u32,
    /// Area done, in ha.
    pub area_ha: f64,
    /// Whether that is all of its area.
    pub whole: bool,
    /// How it is known.
    pub known: Known,
}

/// How it is known that work is done.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Known {
    /// It was said.
    Said,
    /// It was not said, or not so much of it, but must have been done for what was.
    MustBe,
    /// It was not said, but due, and all that was due is taken as done.
    WasDue,
}

/// How something that was left open is decided.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Way {
    /// What is done with the straw.
    Straw(Straw),
    /// How the seedbed is made, an index into [`TILLAGE`](super::spec::TILLAGE).
    Tillage(usize),
}

/// What is wrong with what is said to be done.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum BegunErrorKind {
    /// Today is no day of the season.
    #[error("today is not a day of the season")]
    Today,
    /// No such crop.
    #[error("the farm has no crop \"{name}\"")]
    Crop {
        /// What was said.
        name: String,
        /// The crops there are.
        known: Vec<String>,
    },
    /// The crop has no such operation this season.
    #[error("{crop} has no operation \"{name}\" this season")]
    Operation {
        /// The crop.
        crop: String,
        /// What was said.
        name: String,
        /// The operations there are.
        known: Vec<String>,
    },
    /// No field of this name sees the operation.
    #[error("there is no {operation} of {crop} on a field \"{name}\"")]
    Field {
        /// The crop.
        crop: String,
        /// The operation.
        operation: String,
        /// What was said.
        name: String,
        /// The fields that see it.
        known: Vec<String>,
    },
    /// Work that only land given up by another crop would bring.
    #[error("{operation} of {crop} only comes where another crop is given up")]
    OnlyTakesOver {
        /// The crop.
        crop: String,
        /// The operation.
        operation: String,
    },
    /// Said twice.
    #[error("{what} is said twice")]
    Twice {
        /// What is.
        what: String,
        /// The entry that said it first.
        first: usize,
    },
    /// Not before today.
    #[error("this is not before today: today's work is still to come")]
    NotBeforeToday,
    /// No area, or more than there is.
    #[error("{area_ha} ha are not between 0 and the {all_ha} ha that there are of {what}")]
    Area {
        /// What was said.
        area_ha: f64,
        /// What there is.
        all_ha: f64,
        /// Of what.
        what: String,
    },
    /// Work done before the work that must come before it.
    #[error("{later} is done before {earlier}, which must come first")]
    Order {
        /// What comes first.
        earlier: String,
        /// What was done before it.
        later: String,
    },
    /// Straw both baled and chopped, or two ways to make one seedbed.
    #[error("what is said to be done on {field} does not go together: {what} is done where the other is not")]
    Ways {
        /// The field.
        field: String,
        /// The work that does not fit.
        what: String,
    },
}

/// A mistake in what is said to be done.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[error("{kind}")]
pub struct BegunError {
    /// Which entry; `None` where it is none in particular.
    pub entry: Option<usize>,
    /// What is wrong.
    pub kind: BegunErrorKind,
}

impl Farm {
    /// The jobs of a crop's operation, on one field or on all that see it: those that the farm is sure to have, else those
    /// that a choice would bring.
    ///
    /// # Errors
    /// When there are none, with the names that there are.
    pub fn jobs_named(
        &self,
        crop: &str,
        operation: &str,
        field: Option<&str>,
    ) -> Result<Vec<usize>, BegunErrorKind> {
        let own = |kind: &dyn Fn(&super::Row) -> bool| -> Vec<String> {
            self.rows.iter().filter(|row| kind(row)).map(|row| row.operation.clone()).collect()
        };
        let index = self
            .crops
            .iter()
            .position(|name| name == crop)
            .ok_or_else(|| BegunErrorKind::Crop { name: crop.into(), known: self.crops.clone() })?;
        let row = self.rows.iter().find(|row| row.crop == index && row.operation == operation);
        let row = row.ok_or_else(|| BegunErrorKind::Operation {
            crop: crop.into(),
            name: operation.into(),
            known: own(&|row| row.crop == index),
        })?;
        let named = |job: &usize| &self.fields[self.jobs[*job].field].name;
        let here: Vec<usize> =
            row.jobs.iter().copied().filter(|job| field.is_none_or(|field| named(job) == field)).collect();
        if here.is_empty() {
            let mut known: Vec<String> = row.jobs.iter().map(|job| named(job).clone()).collect();
            known.dedup();
            return Err(BegunErrorKind::Field {
                crop: crop.into(),
                operation: operation.into(),
                name: field.unwrap_or_default().into(),
                known,
            });
        }
        let such = |kind: &dyn Fn(usize) -> bool| -> Vec<usize> {
            here.iter().copied().filter(|job| kind(*job)).collect()
        };
        let sure = such(&|job| !self.jobs[job].dormant);
        let found = if sure.is_empty() { such(&|job| self.hangs_on_choice(job)) } else { sure };
        if found.is_empty() {
            return Err(BegunErrorKind::OnlyTakesOver { crop: crop.into(), operation: operation.into() });
        }
        Ok(found)
    }

    /// The same farm taken up on a morning of its season, with what is done by then.
    ///
    /// # Errors
    /// The first thing said that cannot be.
    pub fn begun(mut self, spec: &BegunSpec) -> Result<Self, BegunError> {
        if spec.today >= self.span.days() {
            return Err(BegunError { entry: None, kind: BegunErrorKind::Today });
        }
        self.begun = Some(beginning::begun(&self, spec)?);
        Ok(self)
    }

    /// Whether a choice says if a job is done.
    pub(super) fn hangs_on_choice(&self, job: usize) -> bool {
        self.jobs[job].if_straw.is_some() || self.jobs[job].if_tillage.is_some()
    }

    /// A job in words, with its field or without.
    pub(super) fn label(&self, job: usize, on_field: bool) -> String {
        let of = &self.jobs[job];
        let row = &self.rows[of.row];
        let all = format!("{} of {}", row.operation, self.crops[row.crop]);
        if on_field { format!("{all} on {}", self.fields[of.field].name) } else { all }
    }
}
