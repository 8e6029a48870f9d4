//! Farms that are worked beside one another share the weather of their record where they judge it alike: judging a record
//! and fitting a table to it takes longer than all else that makes a farm.

use std::sync::Arc;

use super::error::FarmError;
use super::recorded::Fitted;
use super::spec::{FarmSpec, RecordUse};
use super::tables;
use crate::weather::{MachineWeight, RainDay, Record, Rule, Span, WeatherSpec};

/// More kinds of weather than this are not kept.
const MOST: usize = 16;

/// The weathers that farms have made of records so far.
///
/// ```
/// # use sim_core::farm::{Farm, SharedWeather, spec::FarmSpec};
/// # fn variants(specs: &[FarmSpec]) -> Result<Vec<Farm>, sim_core::farm::FarmError> {
/// let mut shared = SharedWeather::default();
/// specs.iter().map(|spec| Farm::sharing(spec, &mut shared)).collect()
/// # }
/// ```
#[derive(Debug, Clone, Default)]
pub struct SharedWeather {
    made: Vec<(Said, Made)>,
}

/// A farm's weather: its tables, for each key whether there are days for it, and what the tables were fitted to.
#[derive(Debug, Clone)]
pub(super) struct Made {
    pub(super) weather: WeatherSpec,
    pub(super) has_days: Vec<bool>,
    pub(super) fitted: Option<Arc<Fitted>>,
}

impl Made {
    pub(super) fn of(spec: &FarmSpec, soils: &[String], span: Span) -> Result<Self, FarmError> {
        let (weather, has_days, fitted) = tables::weather(spec, soils, span)?;
        Ok(Self { weather, has_days, fitted: fitted.map(Arc::new) })
    }
}

/// All on which the weather of a record hangs.
#[derive(Debug, Clone, PartialEq)]
struct Said {
    record: Arc<Record>,
    serves_as: RecordUse,
    rain_day: RainDay,
    rules: Vec<Rule>,
    /// Name, driver, whether it has a clock, and the weight of its machines.
    classes: Vec<(String, String, bool, Option<MachineWeight>)>,
    drivers: Vec<String>,
    soils: Vec<String>,
    span: Span,
}

impl Said {
    /// Nothing where there is no record.
    fn of(spec: &FarmSpec, soils: &[String], span: Span) -> Option<Self> {
        let of = spec.record.as_ref()?;
        let classes = spec
            .classes
            .iter()
            .map(|class| (class.name.clone(), class.driver.clone(), class.has_clock(), class.machine_weight));
        Some(Self {
            record: Arc::clone(&of.record),
            serves_as: of.serves_as,
            rain_day: of.rain_day,
            rules: of.rules.iter().map(|rule| rule.rule.clone()).collect(),
            classes: classes.collect(),
            drivers: tables::driver_names(spec).into_iter().map(String::from).collect(),
            soils: soils.to_vec(),
            span,
        })
    }
}

impl SharedWeather {
    /// The weather of a farm, made if no farm before it has had the same.
    pub(super) fn of(&mut self, spec: &FarmSpec, soils: &[String], span: Span) -> Result<Made, FarmError> {
        let Some(said) = Said::of(spec, soils, span) else { return Made::of(spec, soils, span) };
        if let Some((_, made)) = self.made.iter().find(|(known, _)| *known == said) {
            return Ok(made.clone());
        }
        let made = Made::of(spec, soils, span)?;
        if self.made.len() < MOST {
            self.made.push((said, made.clone()));
        }
        Ok(made)
    }
}
