//! The farm after validation: indices for names, one entry for each thing that the season handles.

use std::sync::Arc;

use super::begun::{Begun, Way};
use super::costs::Costs;
use super::recorded::Fitted;
use super::spec::Straw;
use crate::weather::{DailyHours, Loses, Span, Stage, WeatherSpec};
use jiff::civil::Date;

/// How many machines a farm can hold (each of several alike counts): one bit of a mask each.
pub const MAX_MACHINES: usize = 128;

/// How many people a farm can hold, contractors included: one bit of a mask each.
pub const MAX_PEOPLE: usize = 64;

/// A validated farm.
#[derive(Debug, Clone)]
pub struct Farm {
    /// The farm's name.
    pub name: String,
    /// The days of a season.
    pub span: Span,
    /// The weather's tables; key = class x soil, `class * soils.len() + soil`.
    pub weather: WeatherSpec,
    /// The record that these tables were fitted to, if there is one.
    pub fitted: Option<Arc<Fitted>>,
    /// The soils.
    pub soils: Vec<String>,
    /// The stages with which windows move.
    pub stages: Vec<MovingStage>,
    /// The work classes.
    pub classes: Vec<WorkClass>,
    /// The people, contractors last.
    pub people: Vec<Person>,
    /// The machines, each of several alike by itself.
    pub machines: Vec<Machine>,
    /// The outfits.
    pub outfits: Vec<Outfit>,
    /// The crops' names.
    pub crops: Vec<String>,
    /// The fields.
    pub fields: Vec<Field>,
    /// Crop x operation: what tables report on.
    pub rows: Vec<Row>,
    /// Row x soil: jobs that wait for the same days, machines and people.
    pub lots: Vec<Lot>,
    /// The jobs.
    pub jobs: Vec<Job>,
    /// The links between jobs.
    pub links: Vec<Link>,
    /// What is decided while a season goes on.
    pub choices: Vec<Choice>,
    /// Where the season has begun: from which day on it is worked, and what is done by then.
    pub begun: Option<Begun>,
    /// What its machines, people and contractors cost, as far as that was said.
    pub costs: Costs,
    /// Whether there are as many of every machine and person as could be wished for, standing by at every field: then
    /// no work waits for them, and nothing is spent on the road.
    pub plenty: bool,
}

impl Farm {
    /// The same farm with as many of every machine and person as could be wished for: what is still late then is short
    /// of suitable days and open hours. One outfit works in a field at a time, at its own rate and in its people's
    /// hours.
    #[must_use]
    pub fn with_plenty(self) -> Self {
        Self { plenty: true, ..self }
    }
}

/// Something that a policy decides of a field in every season.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Choice {
    /// Index of the field.
    pub field: usize,
    /// Index of the crop whose straw or seedbed it is.
    pub crop: usize,
    /// What is decided, and what is usual.
    pub of: ChoiceOf,
    /// The jobs that are done only if it is decided so.
    pub jobs: Vec<usize>,
    /// The jobs that take another time if it is not decided as usual.
    pub reckoned: Vec<usize>,
    /// It is decided when all of these have ended; a straw's, when the first of these begins.
    pub after: Vec<usize>,
    /// It is decided on this day if there are none of these.
    pub day: u32,
}

/// What is decided.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ChoiceOf {
    /// What is done with the straw.
    Straw {
        /// What the field or its crop says.
        usual: Straw,
    },
    /// How the seedbed is made.
    Tillage {
        /// What the field or its crop says, an index into [`TILLAGE`](super::spec::TILLAGE).
        usual: usize,
    },
}

/// A stage of growth in one calendar year of the season.
#[derive(Debug, Clone, PartialEq)]
pub struct MovingStage {
    /// Its name.
    pub name: String,
    /// Its date in a middling year.
    pub normally: Date,
    /// By how many days it is later or earlier in each season.
    pub shifts: Stage,
}

/// A work class.
#[derive(Debug, Clone, PartialEq)]
pub struct WorkClass {
    /// Its name.
    pub name: String,
    /// The hours of each day in which it can be done, daylight counted.
    pub hours: DailyHours,
    /// Which part of them is lost on a suitable day that has fewer.
    pub short_day_loses: Loses,
}

/// A person, or a contractor seen as one.
#[derive(Debug, Clone, PartialEq)]
pub struct Person {
    /// Name or role.
    pub name: String,
    /// Hours at work on each day, servicing taken off.
    pub hours: DailyHours,
    /// The longest overtime in seconds.
    pub overtime_s: i64,
    /// Whether this is a contractor.
    pub contractor: bool,
    /// First day of the season on which a contractor comes; 0 for people.
    pub from_day: u32,
    /// Called only for an operation without days in hand (contractors).
    pub only_if_behind: bool,
}

/// A machine.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Machine {
    /// Its name; several alike are numbered.
    pub name: String,
}

/// What one driver handles: machines of given kinds and who may drive them.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Unit {
    /// For each kind: the mask of the machines alike, and how many of them.
    pub machines: Vec<(u128, u32)>,
    /// Who may drive it; `None` = it needs nobody.
    pub drivers: Option<u64>,
}

/// An outfit: units taken together or not at all.
#[derive(Debug, Clone, PartialEq)]
pub struct Outfit {
    /// Its name.
    pub name: String,
    /// Its units.
    pub units: Vec<Unit>,
    /// Speed on the road, km/h; infinite where distance is not counted.
    pub road_speed_km_h: f64,
    /// Mask of everyone who could be in it.
    pub anyone: u64,
    /// The index of the contractor in `people`, if this is one.
    pub contractor: Option<usize>,
}

/// A field.
#[derive(Debug, Clone, PartialEq)]
pub struct Field {
    /// Its name.
    pub name: String,
    /// Area in ha.
    pub area_ha: f64,
    /// Distance from the yard in km.
    pub distance_km: f64,
    /// Index of its block: fields of one block lie on one road.
    pub block: u32,
}

impl Field {
    /// Distance to another field in km: along the road within a block, else by way of the yard.
    #[must_use]
    pub fn distance_to_km(&self, other: &Self) -> f64 {
        if self.block == other.block {
            (self.distance_km - other.distance_km).abs()
        } else {
            self.distance_km + other.distance_km
        }
    }
}

/// A window in days of the season; the ends are inclusive.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Window {
    /// Given by dates; where the row moves with a stage, those of a middling year.
    Fixed {
        /// May start on this day.
        from: u32,
        /// Should be done by its end.
        due: u32,
        /// Abandoned at its end.
        latest: u32,
    },
    /// Counted from the day on which another job of the field is done.
    After {
        /// That job.
        job: usize,
        /// Days to the start.
        from: u32,
        /// Days to the due day.
        due: u32,
        /// Days to the last.
        latest: u32,
    },
}

/// A crop's operation: what the tables report on.
#[derive(Debug, Clone, PartialEq)]
pub struct Row {
    /// Index of the crop.
    pub crop: usize,
    /// The operation's name.
    pub operation: String,
    /// Index of the work class.
    pub class: usize,
    /// from, due, latest as days of the season, if the window is given by dates; in a middling year, if it moves.
    pub dates: Option<(u32, u32, u32)>,
    /// Index of the stage with which its window moves, if it does.
    pub stage: Option<usize>,
    /// "drilling + 7 d", where the window follows another operation.
    pub due_text: String,
    /// Indices of the outfits that can do it, the preferred first.
    pub outfits: Vec<usize>,
    /// Area of its jobs in ha (those that only a fallback would bring are not counted).
    pub area_ha: f64,
    /// Its jobs.
    pub jobs: Vec<usize>,
}

/// A row on one soil.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Lot {
    /// Index of the row.
    pub row: usize,
    /// Index of the soil.
    pub soil: usize,
    /// Index of the weather key (class x soil).
    pub key: usize,
}

/// One operation on one field.
#[derive(Debug, Clone, PartialEq)]
pub struct Job {
    /// Index of the row.
    pub row: usize,
    /// Index of the lot.
    pub lot: usize,
    /// Index of the field.
    pub field: usize,
    /// Area in ha.
    pub area_ha: f64,
    /// Its window.
    pub window: Window,
    /// For each of the row's outfits, how long the whole job takes.
    pub work: Vec<JobWork>,
    /// Links to what comes after it (indices into [`Farm::links`]).
    pub links_out: Vec<usize>,
    /// Links to what comes before it.
    pub links_in: Vec<usize>,
    /// Jobs whose windows are counted from this one's end.
    pub dated_by: Vec<usize>,
    /// Whether it exists only if another crop's work on the field was abandoned, or a choice is not made as usual.
    pub dormant: bool,
    /// With which straw it is done; `None` = with either. Set only where that is left open.
    pub if_straw: Option<Straw>,
    /// With which ways of making a seedbed it is done, one bit each. Set only where that is left open.
    pub if_tillage: Option<u8>,
    /// As `work`, if the straw is not treated as usual; empty where that is all the same.
    pub other_work: Vec<JobWork>,
    /// The job that does the same work for the crop that was planned: what it has done need not be done again.
    pub twin: Option<usize>,
    /// Dormant jobs that what is left of this one wakes.
    pub wakes: Vec<usize>,
}

impl Job {
    /// Whether it is done where a choice that it hangs on is made so.
    #[must_use]
    pub fn goes_with(&self, way: Way) -> bool {
        match way {
            Way::Straw(straw) => self.if_straw.is_none_or(|wanted| wanted == straw),
            Way::Tillage(way) => self.if_tillage.is_none_or(|ways| ways >> way & 1 == 1),
        }
    }
}

/// How long a job takes an outfit.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct JobWork {
    /// Seconds for the whole area, waits for supply included.
    pub total_s: i64,
    /// Of these, seconds waited for supply or cartage.
    pub supply_s: i64,
}

/// What happens when a maximum lag is missed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Missed {
    /// Counted, and the work goes on.
    #[default]
    Continue,
    /// The later job is dropped.
    Drop,
    /// The earlier job is done again first.
    Repeat,
}

/// A link between two jobs of one field.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Link {
    /// The earlier job.
    pub before: usize,
    /// The later job.
    pub after: usize,
    /// What the earlier one leaves undone drops out of the later one.
    pub required: bool,
    /// Seconds to wait after the earlier one is done.
    pub min_lag_s: i64,
    /// Days within which the later one should have started.
    pub max_lag_days: Option<u32>,
    /// What then happens.
    pub if_missed: Missed,
    /// May follow once this much is done, in ha.
    pub follow_ha: Option<f64>,
}
