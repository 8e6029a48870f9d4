//! What a person says of a farm: parts that name one another, not yet checked.
//!
//! Every part carries an [`Origin`], a number that its reader gives and that comes back in a
//! [`super::FarmError`], so that a mistake can be shown where it was written.

use std::sync::Arc;

use jiff::civil::Date;

use crate::weather::{HoursRule, Loses, MachineWeight, MonthDay, Order, RainDay, Record, Rule, Site};

/// Where a part was written: a number that means something to the reader of the farm alone.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Hash)]
pub struct Origin(pub u32);

/// A whole farm as it was said.
#[derive(Debug, Clone, PartialEq)]
pub struct FarmSpec {
    /// Where the farm was written.
    pub origin: Origin,
    /// The farm's name, for headings.
    pub name: String,
    /// The season's first day; dates without a year are read from its year.
    pub first_day: Date,
    /// The season's last day.
    pub last_day: Date,
    /// Where the farm lies, for daylight.
    pub site: Site,
    /// Days that no person works, unless their own rules say otherwise.
    pub holidays: Vec<MonthDay>,
    /// What money is called, to be shown; `None` = nothing is said.
    pub currency: Option<String>,
    /// The probability of a suitable day by class, soil and period.
    pub suitable: Vec<SuitableRow>,
    /// A daily record whose years take the place of the table of suitable days.
    pub record: Option<RecordSpec>,
    /// Persistence and spread by driver and period.
    pub drivers: Vec<DriverRow>,
    /// Stages of growth with which windows move.
    pub stages: Vec<StageSpec>,
    /// The kinds of work that the same kind of day limits.
    pub classes: Vec<ClassSpec>,
    /// The people.
    pub people: Vec<PersonSpec>,
    /// The machines.
    pub machines: Vec<MachineSpec>,
    /// What can do an operation: machines and people taken together.
    pub outfits: Vec<OutfitSpec>,
    /// Outfits that are hired with their own machines and people.
    pub contractors: Vec<ContractorSpec>,
    /// The crops and their operations.
    pub crops: Vec<CropSpec>,
    /// The fields.
    pub fields: Vec<FieldSpec>,
    /// What is decided while a season goes on.
    pub left_open: LeftOpen,
}

/// What a policy decides field by field in every season, where else the farm says it once and for all. What the farm says
/// is then the usual.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct LeftOpen {
    /// Whether straw is baled or chopped.
    pub straw: bool,
    /// How a seedbed is made.
    pub tillage: bool,
}

/// The ways in which a seedbed is made.
pub const TILLAGE: [&str; 3] = ["plough", "min_till", "direct"];

/// One row of the table of suitable days.
#[derive(Debug, Clone, PartialEq)]
pub struct SuitableRow {
    /// Where the row was written.
    pub origin: Origin,
    /// The work class.
    pub class: String,
    /// The soil, or [`ANY_SOIL`].
    pub soil: String,
    /// First day of the period.
    pub from: MonthDay,
    /// Last day of the period, inclusive.
    pub to: MonthDay,
    /// The probability that a day of the period is suitable, 0 to 1.
    pub p_suitable: f64,
    /// The probability that the land is shut on such a day and so does not suit, 0 to 1; `None` = it never shuts then.
    pub p_shut: Option<f64>,
    /// phi of these days, 0 to 0.99; `None` = as the driver of the class says.
    pub spread: Option<f64>,
    /// Mean workable hours of a suitable day, above 0 to 24 h; `None` = the whole day.
    pub hours_mean: Option<f64>,
    /// Their standard deviation in h, given only with a mean; `None` = 0.
    pub hours_sd: Option<f64>,
}

/// A daily record as the farm's weather, with the rules by which its days are judged.
#[derive(Debug, Clone, PartialEq)]
pub struct RecordSpec {
    /// Where it was written.
    pub origin: Origin,
    /// The record.
    pub record: Arc<Record>,
    /// What is made of it.
    pub serves_as: RecordUse,
    /// Of which hours a day's rain is the sum.
    pub rain_day: RainDay,
    /// The farm's own rules for when a day suits a work class on a soil; where there is none, one to start from serves
    /// ([`FarmSpec::rule_for`]).
    pub rules: Vec<RuleSpec>,
}

/// What a record becomes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum RecordUse {
    /// Its years as they were, in this order.
    Years(Order),
    /// A table of suitable days with drivers, fitted to it.
    Table,
}

/// A rule for a workable day.
#[derive(Debug, Clone, PartialEq)]
pub struct RuleSpec {
    /// Where it was written.
    pub origin: Origin,
    /// The rule; its soil may be [`ANY_SOIL`].
    pub rule: Rule,
}

/// The soil name that stands for every soil in a [`SuitableRow`] and in a rule.
pub const ANY_SOIL: &str = "any";

/// Persistence where nothing is said: the median of what the Dublin Airport record 1980-2024 gives for soil,
/// air and wind in the parts of the year (`scenarios/demo/drivers.csv`). One mild, moist site: a stand-in
/// that is better than independent days, not a measurement of another place.
pub const DEFAULT_PERSISTENCE: f64 = 0.32;
/// Spread where nothing is said; from the same record.
pub const DEFAULT_SPREAD: f64 = 0.33;
/// Length of a spell in days where nothing is said; from the same record.
pub const DEFAULT_SPREAD_DAYS: f64 = 6.0;

/// How the days of one driver hang together, in one period.
#[derive(Debug, Clone, PartialEq)]
pub struct DriverRow {
    /// Where the row was written.
    pub origin: Origin,
    /// The driver's name.
    pub driver: String,
    /// First day of the period.
    pub from: MonthDay,
    /// Last day of the period, inclusive.
    pub to: MonthDay,
    /// rho: the probability that the sky keeps yesterday's draw, 0 to below 1.
    pub persistence: f64,
    /// phi: the share of the variance that a whole spell has in common, 0 to 0.99; for the days of suitable-day
    /// rows that have no spread of their own.
    pub spread: f64,
    /// How many days such a spell lasts on average, at least 1; `None` = the whole season.
    pub spread_days: Option<f64>,
    /// How far the driver shares the farm's sky: 1 the same sky, 0 apart.
    pub agreement: f64,
}

/// A stage of growth, which comes early in some years and late in others.
#[derive(Debug, Clone, PartialEq)]
pub struct StageSpec {
    /// Where the stage was written.
    pub origin: Origin,
    /// The stage's name.
    pub name: String,
    /// Its day in a middling year.
    pub normally: MonthDay,
    /// The mean temperature above which warmth counts, degrees Celsius.
    pub base_c: f64,
    /// The first day whose warmth counts, earlier in the year than `normally`.
    pub from: MonthDay,
    /// How much drawn years differ: standard deviation in days. Recorded years have their temperatures instead.
    pub sd_days: f64,
}

/// A work class: operations limited by the same kind of day.
#[derive(Debug, Clone, PartialEq)]
pub struct ClassSpec {
    /// Where the class was written.
    pub origin: Origin,
    /// The class's name.
    pub name: String,
    /// Which driver its days follow.
    pub driver: String,
    /// The hours of a suitable day in which it can be done; empty = all 24.
    pub hours: Vec<HoursRule>,
    /// Whether it needs daylight.
    pub daylight: bool,
    /// Which part of these hours is lost on a suitable day that has fewer.
    pub short_day_loses: Loses,
    /// How heavy its machines are for their work: which of the rules to start from judges a record's days. `None` =
    /// middling. The farm's own rules stand as written, whatever the machines.
    pub machine_weight: Option<MachineWeight>,
}

impl ClassSpec {
    /// Whether a suitable day with fewer hours has something to lose. Of a clock of day and night it would lose hours in
    /// which nobody works anyway, or all that they work; daylight is a clock too.
    #[must_use]
    pub fn has_clock(&self) -> bool {
        !self.hours.is_empty() || self.daylight
    }
}

/// A person.
#[derive(Debug, Clone, PartialEq)]
pub struct PersonSpec {
    /// Where the person was written.
    pub origin: Origin,
    /// The person's name or role.
    pub name: String,
    /// Hours of work, by date and day of the week; later rules override earlier ones.
    pub hours: Vec<HoursRule>,
    /// Daily servicing and fuelling at the start of the hours, in hours.
    pub servicing_h: f64,
    /// The longest overtime at the end of a day, in hours.
    pub overtime_h: f64,
    /// The machines that they may drive.
    pub drives: Vec<String>,
    /// Days off beside the farm's holidays.
    pub holidays: Vec<MonthDay>,
    /// What they cost a year however little they work, in money.
    pub cost_year: Option<f64>,
    /// What an hour at work or on the road costs, in money.
    pub cost_h: Option<f64>,
}

/// A machine or an implement.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct MachineSpec {
    /// Where the machine was written.
    pub origin: Origin,
    /// The machine's name.
    pub name: String,
    /// How many alike there are.
    pub count: u32,
    /// Whether whoever works it must list it in `drives` (tractors, combines, sprayers).
    pub needs_driver: bool,
    /// Working width in metres, with `speed_km_h` and `efficiency`.
    pub width_m: Option<f64>,
    /// Working speed in km/h.
    pub speed_km_h: Option<f64>,
    /// Field efficiency, 0 to 1.
    pub efficiency: Option<f64>,
    /// Work rate in ha/h, in place of width, speed and efficiency.
    pub work_rate_ha_h: Option<f64>,
    /// The most crop that it takes in, in t/h (combine, baler).
    pub throughput_t_h: Option<f64>,
    /// Speed on the road in km/h.
    pub road_speed_km_h: Option<f64>,
    /// What a tank or hopper holds, in kg (a litre counted as a kilogram), with `fill_min`.
    pub hold_kg: Option<f64>,
    /// Minutes to fill the tank or hopper, in the field.
    pub fill_min: Option<f64>,
    /// Whether it is filled at the yard, the way there and back added.
    pub fill_at_yard: bool,
    /// What a trailer carries away, in t, with `unload_min`.
    pub load_t: Option<f64>,
    /// Minutes to tip or unload a trailer at the yard (for bales: to load and unload).
    pub unload_min: Option<f64>,
    /// What one of them costs a year whatever its width and however little it works, in money.
    pub cost_year: Option<f64>,
    /// What each metre of its width costs a year beside that, in money.
    pub cost_m_year: Option<f64>,
    /// What an hour at work or on the road costs (fuel, wear), in money.
    pub cost_h: Option<f64>,
}

/// An outfit: units of machines, a driver to each unit that needs one, taken together.
#[derive(Debug, Clone, PartialEq)]
pub struct OutfitSpec {
    /// Where the outfit was written.
    pub origin: Origin,
    /// The outfit's name.
    pub name: String,
    /// Its units: each is what one driver handles (a tractor and its plough).
    pub units: Vec<Vec<String>>,
}

/// A contractor: comes with machines and people, from a date on.
#[derive(Debug, Clone, PartialEq)]
pub struct ContractorSpec {
    /// Where the contractor was written.
    pub origin: Origin,
    /// The outfit's name.
    pub name: String,
    /// Work rate in ha/h.
    pub work_rate_ha_h: f64,
    /// Earliest date; `None` = always.
    pub from: Option<MonthDay>,
    /// Hours of work.
    pub hours: Vec<HoursRule>,
    /// Whether they are called only for an operation that has no days in hand.
    pub only_if_behind: bool,
    /// What a hectare costs, in money.
    pub cost_ha: Option<f64>,
}

/// A crop.
#[derive(Debug, Clone, PartialEq)]
pub struct CropSpec {
    /// Where the crop was written.
    pub origin: Origin,
    /// The crop's name.
    pub name: String,
    /// Grain yield in t/ha, for throughput and cartage.
    pub yield_t_ha: f64,
    /// Straw yield in t/ha, for baling and drawing in.
    pub straw_t_ha: f64,
    /// What is done with its straw, unless the field says otherwise.
    pub straw: Straw,
    /// How its seedbed is made, unless the field says otherwise.
    pub tillage: String,
    /// The work on the crop in the calendar year of its harvest.
    pub standing: Vec<OperationSpec>,
    /// The work for it in the calendar year before, after the crop that stood.
    pub following: Vec<OperationSpec>,
}

/// What is done with the straw.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Straw {
    /// Baled and drawn in.
    Bale,
    /// Chopped by the combine.
    Chop,
}

impl Straw {
    /// What else can be done with it.
    #[must_use]
    pub const fn other(self) -> Self {
        match self {
            Self::Bale => Self::Chop,
            Self::Chop => Self::Bale,
        }
    }
}

/// What an operation moves, for throughput and cartage.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Moves {
    /// The crop's grain.
    Grain,
    /// The crop's straw.
    Straw,
    /// So many kg/ha brought to the field (seed, fertiliser, spray at 1 kg a litre).
    Brought {
        /// kg (or litres) for each hectare.
        kg_ha: f64,
    },
}

/// A day of the season, or days after another operation of the same field is done.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum When {
    /// A date.
    Date(MonthDay),
    /// So many days after the day on which the named operation of the field is done.
    DaysAfter {
        /// The other operation.
        operation: String,
        /// Days after it, at least 0.
        days: u32,
    },
}

/// An operation of a crop.
#[derive(Debug, Clone, PartialEq)]
pub struct OperationSpec {
    /// Where the operation was written.
    pub origin: Origin,
    /// The operation's name.
    pub name: String,
    /// Its work class.
    pub class: String,
    /// The outfits or contractors that can do it, the preferred first.
    pub outfits: Vec<String>,
    /// May start on this day.
    pub from: When,
    /// Should be finished by the end of this day.
    pub due: When,
    /// Abandoned at the end of this day; `None` = 30 days after `due`, within the season.
    pub latest: Option<When>,
    /// The stage whose shift its window takes in every season; for windows given by dates.
    pub moves_with: Option<String>,
    /// What must come before it on the field.
    pub after: Vec<LinkSpec>,
    /// Done only where the straw is treated so.
    pub straw: Option<Straw>,
    /// Done only where the seedbed is made in one of these ways; empty = always.
    pub tillage: Vec<String>,
    /// What it moves.
    pub moves: Option<Moves>,
    /// Factor on the work rate where the straw is chopped, 0 to 1.
    pub chopping_factor: f64,
    /// The crop to which what is undone at `latest` goes.
    pub fallback_crop: Option<String>,
}

/// A link: the operation comes after another one on the same field.
#[derive(Debug, Clone, PartialEq)]
pub struct LinkSpec {
    /// Where the link was written.
    pub origin: Origin,
    /// The operation that comes first.
    pub operation: String,
    /// Required: what the first one leaves undone drops out. Otherwise freed at its `latest`.
    pub required: bool,
    /// Hours to wait after it is done.
    pub min_lag_h: f64,
    /// Days within which this one should have started.
    pub max_lag_days: Option<u32>,
    /// What happens when `max_lag_days` is missed.
    pub if_missed: super::Missed,
    /// May follow in the same field once this much is done, never overtaking.
    pub follow_ha: Option<f64>,
}

/// A field.
#[derive(Debug, Clone, PartialEq)]
pub struct FieldSpec {
    /// Where the field was written.
    pub origin: Origin,
    /// The field's name.
    pub name: String,
    /// Area in hectares.
    pub area_ha: f64,
    /// Soil name, as in the table of suitable days.
    pub soil: String,
    /// Distance from the yard in km.
    pub distance_km: f64,
    /// Fields of one block lie on the same road: going between them does not pass the yard.
    pub block: Option<String>,
    /// The crop that stands on it; `None` = bare.
    pub standing: Option<String>,
    /// The crop that follows; `None` = none in this season.
    pub following: Option<String>,
    /// What is done with the standing crop's straw; `None` = as the crop says.
    pub straw: Option<Straw>,
    /// How the following crop's seedbed is made; `None` = as the crop says.
    pub tillage: Option<String>,
}
