//! `dryspell sensitivity`: which of a script's parameters matter to which operations, screened by elementary effects,
//! every farm under the same skies.

mod ranges;
mod told;

use super::args::SensitivityArgs;
use super::load::{Loaded, load, load_with};
use super::points::{Set, deciders, farms_at, label, load_at, with};
use super::vary::Vary;
use super::work::{BASE, STOP, catch_ctrl_c, finish, open, origin, progress_bar, study};
use super::{Failure, print};
use crate::script::Script;
use crate::tables::{self, Origin, OutFolder, SensitivityRow, Varied};
use crate::words::thousands;
use ranges::Screened;
use sim_core::study::screen::{Design, Effects};
use sim_core::study::{Hooks, Study, Variant};
use std::collections::BTreeMap;
use std::sync::atomic::Ordering;

/// Seasons at each point unless said otherwise.
const SEASONS: u64 = 1000;

/// Farms that are held at a time.
const TOGETHER: usize = 8;

/// The most points.
const MOST_POINTS: usize = 20_000;

/// What is looked at: names in the table, and of a chance or a number of days.
pub(super) const RESPONSES: [&str; 2] = ["p_late", "days_late_mean"];

/// An operation of a crop: crop, operation.
type Named = (String, String);

/// What the parameters do to an operation: for each response the effects of each parameter.
pub(super) struct OfOperation {
    pub(super) named: Named,
    pub(super) effects: [Vec<Effects>; 2],
    /// The least and the greatest chance of being late at any point.
    pub(super) p_late: (f64, f64),
}

pub(super) fn sensitivity(args: &SensitivityArgs) -> Result<(), Failure> {
    let base = load(&args.farm)?;
    let asked: Vec<Vary> =
        args.vary.iter().map(|text| Vary::read(text)).collect::<Result<_, _>>().map_err(Failure::Request)?;
    let screened = ranges::ranges(&asked, &base.parameters, &args.farm.set)?;
    if let Some(unknown) = asked.iter().find(|vary| !screened.iter().any(|of| of.name == vary.name)) {
        // The script says that it has no such parameter.
        load_with(base.script.clone(), &[(unknown.name.clone(), String::new())])?;
    }
    let points = usize::from(args.trajectories) * (screened.len() + 1);
    if points > MOST_POINTS {
        return Err(Failure::Request(format!(
            "{} parameters over {} ways are {} farms, and {} are the most\nVary fewer, or ask for fewer --trajectories.",
            screened.len(),
            args.trajectories,
            thousands(points as u64),
            thousands(MOST_POINTS as u64)
        )));
    }
    let design = Design::draw(
        screened.iter().map(Screened::factor).collect(),
        usize::from(args.trajectories),
        args.work.seed,
    );
    let base_variant = Variant::new(BASE, base.farm.clone())?;
    let seasons = args.seasons.or(base_variant.weather.all_seasons()).unwrap_or(SEASONS);
    let study = study(vec![base_variant], Some(seasons), &args.work);
    let out = open(&args.work)?;
    catch_ctrl_c();
    let mut work = Work::new(&base.script, &args.farm.set, &screened, &study);
    let seen = work.all(&design)?;
    let found = operations(&design, &seen);
    let told = told::Told {
        study: &study,
        parameters: &base.parameters,
        screened: &screened,
        found: &found,
        farms: work.farms(),
        one_weather: work.one_weather,
        trajectories: design.trajectories.len(),
        all: args.all,
    };
    let mut text = told.text();
    if let Some(mut out) = out {
        write(&mut out, &screened, &found)?;
        let varied = screened.iter().map(|of| Varied { name: of.name.clone(), values: of.values.clone() });
        let origin = origin(&study, &base.script, &base.parameters, study.seasons);
        text.push_str(&finish(out, &Origin { varied: varied.collect(), ..origin })?);
    }
    print(&text)
}

/// What was seen of each operation of a farm: its responses.
type Seen = BTreeMap<Named, [f64; 2]>;

/// The farms at the points of a design: each is worked once, however often a way comes by.
struct Work<'a> {
    script: &'a Script,
    /// What holds for every farm.
    set: &'a [(String, String)],
    screened: &'a [Screened],
    /// The farm as it is, with seasons, seed and threads.
    base: &'a Study,
    /// What was seen of the farm with these values.
    known: BTreeMap<Vec<String>, Seen>,
    /// Whether all of them have the weather of the farm as it is.
    one_weather: bool,
}

impl<'a> Work<'a> {
    fn new(
        script: &'a Script,
        set: &'a [(String, String)],
        screened: &'a [Screened],
        base: &'a Study,
    ) -> Self {
        Self { script, set, screened, base, known: BTreeMap::new(), one_weather: true }
    }

    /// How many farms were worked.
    fn farms(&self) -> usize {
        self.known.len()
    }

    fn stopped(&self) -> Failure {
        Failure::Stopped(format!(
            "stopped after {} farms: effects need all of them, so nothing was written",
            self.farms()
        ))
    }

    /// What is set at a point.
    fn values(&self, point: &[usize]) -> Vec<String> {
        self.screened.iter().zip(point).map(|(of, level)| of.values[*level].clone()).collect()
    }

    /// A farm's name and all that is set for it.
    fn farm(&self, values: &[String]) -> (String, Set) {
        let own = self.screened.iter().zip(values).map(|(of, value)| (of.name.clone(), value.clone()));
        let own: Set = own.collect();
        (label(&own), with(self.set, own))
    }

    /// What is seen at each point, in the order of the points.
    fn all(&mut self, design: &Design) -> Result<Vec<Seen>, Failure> {
        let points: Vec<Vec<String>> = design.points().map(|point| self.values(point)).collect();
        let mut distinct: Vec<Vec<String>> = Vec::new();
        let mut listed = std::collections::BTreeSet::new();
        for values in &points {
            if listed.insert(values) {
                distinct.push(values.clone());
            }
        }
        // What is wrong with the last is said before the first is worked.
        let reading = progress_bar(distinct.len() as u64, "farms read");
        for values in &distinct {
            if STOP.load(Ordering::Relaxed) {
                return Err(self.stopped());
            }
            let (name, set) = self.farm(values);
            let Loaded { farm, .. } = load_at(self.script, &set, &name)?;
            sim_core::weather::Weather::new(&farm.weather)?;
            self.one_weather &= farm.weather == self.base.variants[0].plan.farm().weather;
            reading.inc(1);
        }
        reading.finish_and_clear();
        let bar = progress_bar(distinct.len() as u64 * self.base.seasons, "seasons of all farms");
        for some in distinct.chunks(TOGETHER) {
            let before = bar.position();
            let count = some.len() as u64;
            let mut progress = |seasons: u64| bar.set_position(before + seasons * count);
            self.some(some, &mut progress)?;
        }
        bar.finish_and_clear();
        Ok(points.iter().map(|values| self.known.get(values).cloned().unwrap_or_default()).collect())
    }

    /// Works some farms.
    fn some(&mut self, some: &[Vec<String>], progress: &mut dyn FnMut(u64)) -> Result<(), Failure> {
        let farms: Vec<_> = some.iter().map(|values| self.farm(values)).collect();
        let (variants, scripted) = farms_at(self.script, &self.base.variants[0], &farms)?;
        let Study { seasons, seed, threads, .. } = *self.base;
        let study = Study { variants, seasons, seed, threads };
        let sets = farms.iter().map(|(_, set)| set.as_slice());
        let deciders = deciders(self.script, &study, sets.zip(scripted));
        let hooks = Hooks { progress: Some(progress), stop: Some(&STOP), ..Hooks::default() };
        let found = study.run_pairs(&deciders, &[], hooks)?;
        if found.seasons < seasons || STOP.load(Ordering::Relaxed) {
            return Err(self.stopped());
        }
        for ((values, variant), of) in some.iter().zip(&study.variants).zip(&found.variants) {
            let farm = variant.plan.farm();
            let seen = of.risks.iter().map(|risk| {
                let row = &farm.rows[risk.row];
                let named = (farm.crops[row.crop].clone(), row.operation.clone());
                (named, [risk.p_late(), risk.days_late_mean()])
            });
            self.known.insert(values.clone(), seen.collect());
        }
        Ok(())
    }
}

/// The effects on every operation that is done at some point.
fn operations(design: &Design, seen: &[Seen]) -> Vec<OfOperation> {
    let mut all: Vec<&Named> = seen.iter().flat_map(BTreeMap::keys).collect();
    all.sort();
    all.dedup();
    let of = |named: &Named| {
        let response = |which: usize| -> Vec<Option<f64>> {
            seen.iter().map(|at| Some(at.get(named)?[which])).collect()
        };
        let late = response(0);
        let known = || late.iter().flatten().copied();
        OfOperation {
            named: named.clone(),
            p_late: (known().fold(1.0, f64::min), known().fold(0.0, f64::max)),
            effects: [design.effects(&late), design.effects(&response(1))],
        }
    };
    all.into_iter().map(of).collect()
}

fn write(out: &mut OutFolder, screened: &[Screened], found: &[OfOperation]) -> Result<(), Failure> {
    let ends: Vec<(String, String)> = screened.iter().map(Screened::ends).collect();
    let rows = screened.iter().zip(&ends).enumerate().flat_map(|(index, (of, (from, to)))| {
        found.iter().flat_map(move |operation| {
            RESPONSES.iter().zip(&operation.effects).map(move |(response, effects)| SensitivityRow {
                parameter: &of.name,
                from,
                to,
                ordered: of.ordered(),
                crop: &operation.named.0,
                operation: &operation.named.1,
                response,
                effects: effects[index],
            })
        })
    });
    tables::write_sensitivity(out, rows).map_err(Failure::Write)
}
