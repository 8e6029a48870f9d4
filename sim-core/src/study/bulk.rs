//! Many seasons, several farms: workers on threads, and one collector who takes the seasons in order, so that
//! every sum is the same to the byte for any number of threads.

use super::pairs::{Comparison, Pairs};
use super::precision::HalfWidth;
use super::risk::{Risk, Risks};
use super::usage::{Usage, Uses};
use super::whole::{Whole, WholeTally};
use super::window::{AtWork, Collecting, Window};
use crate::farm::Farm;
use crate::kernel::Trace;
use crate::season::{Entry, Manager, Outcome, Plan, Policy, Season, SeasonError};
use crate::weather::{Sky, Weather, WeatherError};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};

/// Seasons that a worker takes at a time.
pub(super) const CHUNK: u64 = 32;

/// One farm among those compared.
#[derive(Debug, Clone)]
pub struct Variant {
    /// Its name.
    pub name: String,
    /// Its farm, made ready.
    pub plan: Plan,
    /// Its weather; farms that have the same may share it.
    pub weather: Arc<Weather>,
}

impl Variant {
    /// A farm with the weather of its own tables.
    ///
    /// # Errors
    ///
    /// When the weather's numbers are outside their ranges.
    pub fn new(name: &str, farm: Farm) -> Result<Self, WeatherError> {
        let weather = Arc::new(Weather::new(&farm.weather)?);
        Ok(Self { name: name.to_owned(), plan: Plan::new(farm), weather })
    }

    /// The same for a farm beside another, whose weather serves it too where it is the same.
    ///
    /// # Errors
    ///
    /// As [`Variant::new`].
    pub fn beside(other: &Self, name: &str, farm: Farm) -> Result<Self, WeatherError> {
        if farm.weather != other.plan.farm().weather {
            return Self::new(name, farm);
        }
        Ok(Self { name: name.to_owned(), plan: Plan::new(farm), weather: Arc::clone(&other.weather) })
    }
}

/// Makes the policies that decide in the seasons; each worker makes its own, since a policy may hold what does
/// not cross threads. [`Manager`] makes itself.
pub trait PolicyMaker: Sync {
    /// The policy.
    type Policy: Policy;

    /// A policy for the variant of this index.
    fn make(&self, variant: usize) -> Self::Policy;
}

impl PolicyMaker for Manager {
    type Policy = Self;

    fn make(&self, _variant: usize) -> Self {
        Self
    }
}

/// Takes every season as it comes, in order: season by season, in each the variants by index.
pub trait Sink {
    /// One season of one variant.
    fn season(&mut self, variant: usize, outcome: &Outcome);
}

/// What may look in on a study while it runs.
#[derive(Default)]
pub struct Hooks<'h> {
    /// Takes every season in order.
    pub sink: Option<&'h mut dyn Sink>,
    /// Told now and then how many seasons are done.
    pub progress: Option<&'h mut dyn FnMut(u64)>,
    /// When it turns true the study ends after the seasons in hand.
    pub stop: Option<&'h AtomicBool>,
    /// Ends the study at the first look at which every compared difference in the chance of being late, or every such
    /// chance where one farm is alone, is known so well. A study of recorded years goes on:
    /// more seasons of those say no more.
    pub until: Option<HalfWidth>,
}

impl std::fmt::Debug for Hooks<'_> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Hooks").field("stop", &self.stop).finish_non_exhaustive()
    }
}

/// Seasons 0, 1, ... of some farms.
///
/// The outcome of season `k` depends on farm, weather, policy, seed and `k` alone. Variants whose weather has
/// equal tables are worked under the same skies, each drawn once. Memory does not grow with the seasons.
///
/// ```
/// # use sim_core::farm::{Farm, spec::*};
/// # use sim_core::season::Manager;
/// # use sim_core::study::{Hooks, Study, Variant};
/// # use sim_core::weather::{EVERY_DAY, HoursRule, Loses, Site, Stretch};
/// # use jiff::civil::date;
/// # let origin = Origin(0);
/// # let (first, last) = ("01-01".parse().unwrap(), "12-31".parse().unwrap());
/// # let open = vec![Stretch { start: 8 * 3600, end: 18 * 3600 }];
/// # let hours = vec![HoursRule { from: first, to: last, weekdays: EVERY_DAY, open }];
/// # let day = |text: &str| When::Date(text.parse().unwrap());
/// # let spec = FarmSpec {
/// #     origin, name: "small farm".into(), first_day: date(2025, 1, 1), last_day: date(2025, 12, 31),
/// #     site: Site::new(53.0, -6.0, 0.0, true).unwrap(), holidays: vec![],
/// #     currency: None,
/// #     suitable: vec![SuitableRow {
/// #         origin, class: "mowing".into(), soil: ANY_SOIL.into(), from: first, to: last, p_suitable: 0.5,
/// #         p_shut: None, spread: None, hours_mean: None, hours_sd: None,
/// #     }],
/// #     record: None,
/// #     left_open: LeftOpen::default(),
/// #     drivers: vec![],
/// #     stages: vec![],
/// #     classes: vec![ClassSpec {
/// #         origin, name: "mowing".into(), driver: "soil".into(), hours: vec![], daylight: false,
/// #         short_day_loses: Loses::Start,
/// #         machine_weight: None,
/// #     }],
/// #     people: vec![PersonSpec {
/// #         origin, name: "driver".into(), hours, servicing_h: 0.0, overtime_h: 0.0,
/// #         drives: vec!["mower".into()], holidays: vec![],
/// #         cost_year: None, cost_h: None,
/// #     }],
/// #     machines: vec![MachineSpec {
/// #         name: "mower".into(), count: 1, needs_driver: true, work_rate_ha_h: Some(1.0),
/// #         ..MachineSpec::default()
/// #     }],
/// #     outfits: vec![OutfitSpec { origin, name: "mowing".into(), units: vec![vec!["mower".into()]] }],
/// #     contractors: vec![],
/// #     crops: vec![CropSpec {
/// #         origin, name: "grass".into(), yield_t_ha: 8.0, straw_t_ha: 0.0, straw: Straw::Bale,
/// #         tillage: "plough".into(), following: vec![],
/// #         standing: vec![OperationSpec {
/// #             origin, name: "mowing".into(), class: "mowing".into(), outfits: vec!["mowing".into()],
/// #             from: day("06-01"), due: day("06-20"), latest: None, moves_with: None, after: vec![],
/// #             straw: None, tillage: vec![], moves: None, chopping_factor: 1.0, fallback_crop: None,
/// #         }],
/// #     }],
/// #     fields: vec![FieldSpec {
/// #         origin, name: "Home".into(), area_ha: 70.0, soil: "medium".into(), distance_km: 0.0, block: None,
/// #         standing: Some("grass".into()), following: None, straw: None, tillage: None,
/// #     }],
/// # };
/// # let farm = Farm::new(&spec).unwrap();
/// let study = Study { variants: vec![Variant::new("as it is", farm)?], seasons: 200, seed: 1, threads: 2 };
/// let found = study.run(&Manager, Hooks::default())?;
/// let mowing = &found.variants[0].risks[0];
/// let (low, high) = mowing.p_late_interval();
/// assert!(low <= mowing.p_late() && mowing.p_late() <= high);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone)]
pub struct Study {
    /// The farms.
    pub variants: Vec<Variant>,
    /// How many seasons, the first numbered 0.
    pub seasons: u64,
    /// The seed of every draw.
    pub seed: u64,
    /// How many workers; 0 counts as 1.
    pub threads: usize,
}

/// What a study found.
#[derive(Debug, Clone, PartialEq)]
pub struct Findings {
    /// How many seasons were worked: those asked for, or the first so many if the study was stopped or knew enough.
    pub seasons: u64,
    /// Whether it ended because the half-width wanted was reached.
    pub narrow: bool,
    /// For each variant.
    pub variants: Vec<VariantFindings>,
    /// The pairs of variants that were compared; of a whole study each variant but the first against the first, the
    /// base.
    pub comparisons: Vec<Comparison>,
}

/// What a study found of one farm.
#[derive(Debug, Clone, PartialEq)]
pub struct VariantFindings {
    /// The risk of each of the farm's rows that had area in some season.
    pub risks: Vec<Risk>,
    /// The use of each machine, then of each person, by half-month; empty where it was left out.
    pub uses: Vec<Usage>,
    /// The farm as a whole.
    pub whole: Whole,
}

/// Seasons on their way from a worker to the collector: for each, every variant's outcome.
#[derive(Default)]
struct Chunk {
    outcomes: Vec<Outcome>,
    filled: usize,
    error: Option<SeasonError>,
}

impl Chunk {
    fn push(&mut self, outcome: &Outcome) {
        if self.filled == self.outcomes.len() {
            self.outcomes.push(Outcome::default());
        }
        let slot = &mut self.outcomes[self.filled];
        slot.season = outcome.season;
        slot.rows.clear();
        slot.rows.extend_from_slice(&outcome.rows);
        slot.use_s.clear();
        slot.use_s.extend_from_slice(&outcome.use_s);
        slot.hired_ha.clear();
        slot.hired_ha.extend_from_slice(&outcome.hired_ha);
        self.filled += 1;
    }
}

impl Study {
    /// Works the seasons.
    ///
    /// # Errors
    ///
    /// When a policy cannot decide: the first such season's error.
    ///
    /// # Panics
    ///
    /// If a variant's weather has fewer keys or days than its farm.
    pub fn run<M: PolicyMaker>(&self, maker: &M, hooks: Hooks<'_>) -> Result<Findings, SeasonError> {
        let against_the_first: Vec<(usize, usize)> =
            (1..self.variants.len()).map(|index| (0, index)).collect();
        self.collect(maker, hooks, &against_the_first, true)
    }

    /// Works the seasons for risks, and for the differences between these pairs of variants (the base's index, then the
    /// other's); what machines and people are used for is left out.
    ///
    /// # Errors
    ///
    /// As [`Study::run`].
    ///
    /// # Panics
    ///
    /// As [`Study::run`], and if there is no variant of such an index.
    pub fn run_pairs<M: PolicyMaker>(
        &self,
        maker: &M,
        pairs: &[(usize, usize)],
        hooks: Hooks<'_>,
    ) -> Result<Findings, SeasonError> {
        self.collect(maker, hooks, pairs, false)
    }

    fn collect<M: PolicyMaker>(
        &self,
        maker: &M,
        mut hooks: Hooks<'_>,
        compared: &[(usize, usize)],
        with_use: bool,
    ) -> Result<Findings, SeasonError> {
        let chunks = self.seasons.div_ceil(CHUNK);
        let threads = self.threads.clamp(1, chunks.clamp(1, 1024) as usize);
        let window = Window::<Chunk>::new(2 * threads, threads);
        let counter = AtomicU64::new(0);
        let sky_of = self.sky_of();
        let mut tallies: Vec<(Risks, Uses, WholeTally)> = self
            .variants
            .iter()
            .map(|variant| {
                let years = variant.weather.recorded().map_or(0, |recorded| recorded.years().len());
                (Risks::new(&variant.plan, years), Uses::new(&variant.plan), WholeTally::new(years))
            })
            .collect();
        let recorded_of = |(base, index): (usize, usize)| {
            let own = self.variants[index].weather.recorded();
            self.variants[base].weather.recorded().or(own)
        };
        let farm = |index: usize| (index, self.variants[index].plan.farm());
        let mut pairs: Vec<Pairs> = compared
            .iter()
            .map(|of| {
                let years = recorded_of(*of).map_or(0, |recorded| recorded.years().len());
                Pairs::new(farm(of.0), farm(of.1), years)
            })
            .collect();
        let mut seasons = 0;
        let mut failed = None;
        let mut narrow = false;
        let mut looks = HalfWidth::looks().peekable();
        let any_recorded = self.variants.iter().any(|variant| variant.weather.recorded().is_some());
        let until = hooks.until.filter(|_| !any_recorded);
        std::thread::scope(|scope| {
            for _ in 0..threads {
                scope.spawn(|| self.work(maker, &sky_of, hooks.stop, &counter, &window));
            }
            let _collecting = Collecting(&window);
            while let Some(mut chunk) = window.next() {
                for of_season in chunk.outcomes[..chunk.filled].chunks_exact(self.variants.len().max(1)) {
                    for (variant, outcome) in of_season.iter().enumerate() {
                        let (risks, uses, whole) = &mut tallies[variant];
                        let recorded = self.variants[variant].weather.recorded();
                        let year = recorded.map(|of| of.index_of(self.seed, outcome.season));
                        risks.add(outcome, year);
                        if with_use {
                            uses.add(outcome);
                        }
                        whole.add(self.variants[variant].plan.farm(), outcome, year);
                        if let Some(sink) = &mut hooks.sink {
                            sink.season(variant, outcome);
                        }
                    }
                    for (pairs, of) in pairs.iter_mut().zip(compared) {
                        let (base, other) = (&of_season[of.0], &of_season[of.1]);
                        let year = recorded_of(*of).map(|of| of.index_of(self.seed, base.season));
                        let farms = [of.0, of.1].map(|index| self.variants[index].plan.farm());
                        pairs.add(farms, base, other, year);
                    }
                    seasons += 1;
                }
                failed = chunk.error.take();
                if failed.is_some() {
                    break;
                }
                if let Some(progress) = &mut hooks.progress {
                    progress(seasons);
                }
                if let Some(until) = until
                    && looks.next_if(|look| *look <= seasons).is_some()
                {
                    let (reached, risks) = (|interval| until.reached(interval), tallies.iter());
                    narrow = match pairs.as_slice() {
                        [] => risks.flat_map(|(risks, ..)| risks.intervals()).all(reached),
                        pairs => pairs.iter().flat_map(Pairs::intervals).all(reached),
                    };
                    if narrow {
                        break;
                    }
                }
                window.give_back(chunk);
            }
        });
        if let Some(error) = failed {
            return Err(error);
        }
        let variants = self
            .variants
            .iter()
            .zip(tallies)
            .map(|(variant, (risks, uses, whole))| VariantFindings {
                risks: risks.findings(),
                uses: if with_use { uses.findings(variant, self.seed, self.threads) } else { Vec::new() },
                whole: whole.findings(variant.plan.farm()),
            })
            .collect();
        let farms = |of: &(usize, usize)| [of.0, of.1].map(|index| self.variants[index].plan.farm());
        let comparisons =
            pairs.into_iter().zip(compared).map(|(pairs, of)| pairs.findings(farms(of))).collect();
        Ok(Findings { seasons, narrow, variants, comparisons })
    }

    /// Works one season of one variant, and notes what happens: the same season as in [`Study::run`].
    ///
    /// # Errors
    ///
    /// When the policy cannot decide.
    ///
    /// # Panics
    ///
    /// If there is no such variant.
    pub fn work_one<M: PolicyMaker>(
        &self,
        maker: &M,
        variant: usize,
        season: u64,
        trace: &mut impl Trace<Entry>,
    ) -> Result<Outcome, SeasonError> {
        let of = &self.variants[variant];
        let mut sky = Sky::default();
        of.weather.draw(self.seed, season, &mut sky);
        Season::new(&of.plan).work_traced(season, &sky, &mut maker.make(variant), trace).cloned()
    }

    /// For each variant the first one that has the same weather.
    pub(super) fn sky_of(&self) -> Vec<usize> {
        let specs = || self.variants.iter().map(|variant| &variant.plan.farm().weather);
        let first = |(own, spec)| specs().position(|other| other == spec).unwrap_or(own);
        specs().enumerate().map(first).collect()
    }

    /// A worker: takes chunks until there are none, it is stopped, or a season fails.
    fn work<M: PolicyMaker>(
        &self,
        maker: &M,
        sky_of: &[usize],
        stop: Option<&AtomicBool>,
        counter: &AtomicU64,
        window: &Window<Chunk>,
    ) {
        let _at_work = AtWork(window);
        let mut seasons: Vec<Season<'_>> =
            self.variants.iter().map(|variant| Season::new(&variant.plan)).collect();
        let mut policies: Vec<M::Policy> =
            (0..self.variants.len()).map(|variant| maker.make(variant)).collect();
        let mut skies = vec![Sky::default(); self.variants.len()];
        while !stop.is_some_and(|stop| stop.load(Ordering::Relaxed)) {
            let number = counter.fetch_add(1, Ordering::Relaxed);
            let first = number.saturating_mul(CHUNK);
            if first >= self.seasons {
                break;
            }
            let Some(mut chunk) = window.buffer_for(number) else { break };
            chunk.filled = 0;
            'chunk: for season in first..self.seasons.min(first + CHUNK) {
                for (variant, of) in self.variants.iter().enumerate() {
                    if sky_of[variant] == variant {
                        of.weather.draw(self.seed, season, &mut skies[variant]);
                    }
                    let sky = &skies[sky_of[variant]];
                    match seasons[variant].work(season, sky, &mut policies[variant]) {
                        Ok(outcome) => chunk.push(outcome),
                        Err(error) => {
                            chunk.error = Some(error);
                            break 'chunk;
                        }
                    }
                }
            }
            let failed = chunk.error.is_some();
            window.deliver(number, chunk);
            if failed {
                break;
            }
        }
    }
}
