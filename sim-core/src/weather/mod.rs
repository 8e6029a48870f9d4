//! The weather of a season: which days suit which kind of work.
//!
//! What lives here: the days of a season ([`Span`]) and its hours ([`DailyHours`], [`daylight()`]), tables of
//! suitable-day probabilities by period ([`daily_means`]), and [`Weather`], which draws a [`Sky`] from them.
//! A `Sky` is all that the layers above see: one bit for each key (a work class on a soil) and day, and the workable minutes
//! of the day where a key has part-suitable days ([`WorkableHours`]).
//! What does not: machines, people, fields, and the names of work classes.

pub mod air;
pub mod bootstrap;
pub mod calendar;
pub mod chain;
pub mod daylight;
pub mod error;
pub mod fit;
pub mod hours;
pub mod part_days;
pub mod prepare;
pub mod record;
pub mod recorded;
pub mod rules;
pub mod short_day;
mod shut;
pub mod sky;
pub mod soil;
pub mod source;
pub mod spec;
mod spread;
pub mod stage;
pub mod table;
pub mod verdicts;
pub mod weekly;
pub mod workability;
pub mod yesterday;

pub use air::{EtError, EtMethod, ReferenceEt, Station, reference_et};
pub use calendar::{MonthDay, Span};
pub use chain::{Chain, SpreadGrid};
pub use daylight::{Site, daylight};
pub use error::WeatherError;
pub use hours::{DailyHours, EVERY_DAY, HOLIDAY, HoursRule, Stretch, WEEKDAYS, WEEKEND};
pub(crate) use part_days::HoursTable;
pub use part_days::{WorkableHours, greatest_sd_h};
pub use prepare::{Prepared, prepare};
pub use record::{Gap, Quantity, Record, RecordError, RecordYear};
pub use recorded::{Order, Recorded, YearSky};
pub use rules::{MachineWeight, default_rule, default_rules, ruled_classes, ruled_soils, rules_for};
pub use short_day::{Left, Loses};
pub use shut::open_chance;
pub use sky::{Sky, SkySource};
pub use soil::{Drainage, RUN_IN_DAYS, Topsoil, deficits, run_in};
pub use source::Weather;
pub use spec::{DriverSpec, KeySpec, WeatherSpec, kappa};
pub use stage::{FURTHEST_DAYS, Stage, StageError, Warmth};
pub use table::{PeriodValue, daily_means, daily_rises, daily_steps};
pub use verdicts::{Share, VerdictYears};
pub use workability::{Hours, Judged, Limit, Measure, NotNoted, RainDay, Rule, Shut, judge};
pub use yesterday::{Ground, Yesterday};
