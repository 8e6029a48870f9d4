//! What a closure sees: a job or a day at a moment of decision, read through properties, and the season's memory.

use rhai::{Dynamic, Engine, EvalAltResult, ImmutableString, Position};
use sim_core::farm::Farm;
use sim_core::season::{DayView, JobView};
use sim_core::weather::{Drainage, MonthDay, Yesterday};
use std::cell::{Cell, RefCell};
use std::collections::BTreeMap;
use std::rc::Rc;

type Read<T> = Result<T, Box<EvalAltResult>>;

/// The most that a season's memory may hold: notes, and letters in the name or the text of one.
pub(super) const MOST_NOTES: usize = 1_000;
pub(super) const LONGEST_NOTE: usize = 200;

/// Texts of a farm as scripts read them, made once.
#[derive(Debug)]
pub(super) struct Names {
    jobs: Vec<JobNames>,
    /// Each day of the season, "MM-DD".
    days: Vec<ImmutableString>,
    weekdays: Vec<ImmutableString>,
}

#[derive(Debug)]
struct JobNames {
    crop: ImmutableString,
    operation: ImmutableString,
    work_class: ImmutableString,
    field: ImmutableString,
    soil: ImmutableString,
    area_ha: f64,
    distance_km: f64,
}

impl Names {
    pub(super) fn jobs(&self) -> usize {
        self.jobs.len()
    }

    pub(super) fn days(&self) -> usize {
        self.days.len()
    }

    pub(super) fn of(farm: &Farm) -> Rc<Self> {
        let job = |job: &sim_core::farm::Job| {
            let (row, field) = (&farm.rows[job.row], &farm.fields[job.field]);
            let soil = &farm.soils[farm.lots[job.lot].soil];
            JobNames {
                crop: farm.crops[row.crop].as_str().into(),
                operation: row.operation.as_str().into(),
                work_class: farm.classes[row.class].name.as_str().into(),
                field: field.name.as_str().into(),
                soil: soil.as_str().into(),
                area_ha: job.area_ha,
                distance_km: field.distance_km,
            }
        };
        let dates = || (0..farm.span.days()).map(|day| farm.span.date(day));
        let weekday = |date: jiff::civil::Date| {
            let names = ["mon", "tue", "wed", "thu", "fri", "sat", "sun"];
            names[usize::try_from(date.weekday().to_monday_zero_offset()).unwrap_or_default()]
        };
        Rc::new(Self {
            jobs: farm.jobs.iter().map(job).collect(),
            days: dates().map(|date| MonthDay::of(date).to_string().into()).collect(),
            weekdays: dates().map(|date| weekday(date).into()).collect(),
        })
    }
}

/// What a script remembers within a season.
#[derive(Debug, Clone, Default)]
pub(super) struct Memory(Rc<RefCell<BTreeMap<ImmutableString, Dynamic>>>);

impl Memory {
    pub(super) fn clear(&self) {
        self.0.borrow_mut().clear();
    }

    /// What was noted under a name; nothing if nothing was.
    fn get(&mut self, name: ImmutableString) -> Dynamic {
        self.0.borrow().get(&name).cloned().unwrap_or(Dynamic::UNIT)
    }

    fn set(&mut self, name: ImmutableString, value: Dynamic) -> Read<()> {
        let value = value.flatten();
        let text = value.as_immutable_string_ref().map_or(0, |text| text.len());
        let plain = value.is_int() || value.is_float() || value.is_bool() || value.is_string();
        if !plain {
            return refused("the memory keeps numbers, texts, true and false");
        }
        if name.len() > LONGEST_NOTE || text > LONGEST_NOTE {
            return refused(&format!("a note in the memory has more than {LONGEST_NOTE} letters"));
        }
        let mut notes = self.0.borrow_mut();
        if notes.len() == MOST_NOTES && !notes.contains_key(&name) {
            return refused(&format!("the memory holds {MOST_NOTES} notes, which is the most"));
        }
        notes.insert(name, value);
        Ok(())
    }
}

fn refused<T>(why: &str) -> Read<T> {
    Err(EvalAltResult::ErrorRuntime(why.into(), Position::NONE).into())
}

/// Rain and soil at yesterday's close, in mm; each known or not.
#[derive(Debug, Clone, Copy)]
struct Ground {
    deficit: [Option<f64>; 3],
    topsoil: Option<f64>,
    rain: Option<f64>,
    rain_week: Option<f64>,
}

impl Ground {
    fn of(yesterday: &Yesterday<'_>) -> Self {
        Self {
            deficit: [Drainage::Well, Drainage::Moderate, Drainage::Poor].map(|of| yesterday.deficit_mm(of)),
            topsoil: yesterday.topsoil_mm(),
            rain: yesterday.rain_mm(1),
            rain_week: yesterday.rain_mm(7),
        }
    }
}

/// A job at a moment of decision: each call of a closure sees the one there is, with what it is like then. No closure can
/// keep it, as the memory takes plain values only.
#[derive(Debug, Clone)]
pub(super) struct JobNow(Rc<Slot<OfJob>>);

/// A day as it begins.
#[derive(Debug, Clone)]
pub(super) struct DayNow(Rc<Slot<OfDay>>);

#[derive(Debug)]
struct Slot<T: Copy> {
    names: Rc<Names>,
    memory: Memory,
    now: Cell<T>,
}

#[derive(Debug, Clone, Copy, Default)]
struct OfJob {
    job: usize,
    day: usize,
    slack_h: f64,
    days_in_hand: f64,
    p_today: f64,
    area_left_ha: f64,
    gives_way: bool,
    started: bool,
    only_if_behind: bool,
    ground: Option<Ground>,
}

#[derive(Debug, Clone, Copy, Default)]
struct OfDay {
    day: usize,
    least_days_in_hand: f64,
    ground: Option<Ground>,
}

impl JobNow {
    pub(super) fn new(names: &Rc<Names>, memory: &Memory) -> Self {
        Self(Rc::new(Slot { names: Rc::clone(names), memory: memory.clone(), now: Cell::default() }))
    }

    pub(super) fn set(&self, view: &JobView<'_>, only_if_behind: bool) {
        self.0.now.set(OfJob {
            job: view.job,
            day: view.day as usize,
            slack_h: view.slack_h,
            days_in_hand: view.days_in_hand,
            p_today: view.p_today,
            area_left_ha: view.area_left_ha,
            gives_way: view.gives_way,
            started: view.started,
            only_if_behind,
            ground: view.yesterday.as_ref().map(Ground::of),
        });
    }

    fn now(&self) -> OfJob {
        self.0.now.get()
    }

    fn named(&self) -> &JobNames {
        &self.0.names.jobs[self.now().job]
    }

    fn ground(&self, what: &str, value: impl Fn(&Ground) -> Option<f64>) -> Read<f64> {
        ground(self.now().ground, what, value)
    }
}

impl DayNow {
    pub(super) fn new(names: &Rc<Names>, memory: &Memory) -> Self {
        Self(Rc::new(Slot { names: Rc::clone(names), memory: memory.clone(), now: Cell::default() }))
    }

    pub(super) fn set(&self, view: &DayView<'_>) {
        self.0.now.set(OfDay {
            day: view.day as usize,
            least_days_in_hand: view.least_days_in_hand,
            ground: view.yesterday.as_ref().map(Ground::of),
        });
    }

    fn now(&self) -> OfDay {
        self.0.now.get()
    }

    fn ground(&self, what: &str, value: impl Fn(&Ground) -> Option<f64>) -> Read<f64> {
        ground(self.now().ground, what, value)
    }
}

/// What the ground was like, or why that is not known.
fn ground(of: Option<Ground>, what: &str, value: impl Fn(&Ground) -> Option<f64>) -> Read<f64> {
    match of.as_ref().map(value) {
        Some(Some(mm)) => Ok(mm),
        Some(None) => refused(&format!("the record does not say `{what}` of yesterday")),
        None => refused(&format!(
            "`{what}` is known only where a season is a recorded year, from the record's second day on: \
             weather: replay(...) or resample(...)"
        )),
    }
}

macro_rules! properties {
    ($engine:ident, $type:ty: $($name:literal => $read:expr;)*) => {
        $( $engine.register_get($name, $read as fn(&mut $type) -> _); )*
    };
}

/// Teaches an engine the types.
pub(in super::super) fn register(engine: &mut Engine) {
    engine.register_type_with_name::<JobNow>("job").register_type_with_name::<DayNow>("day");
    engine.register_type_with_name::<Memory>("memory");
    engine.register_indexer_get(Memory::get).register_indexer_set(Memory::set);
    properties! { engine, JobNow:
        "crop" => |job| job.named().crop.clone();
        "operation" => |job| job.named().operation.clone();
        "work_class" => |job| job.named().work_class.clone();
        "field" => |job| job.named().field.clone();
        "soil" => |job| job.named().soil.clone();
        "area_ha" => |job| job.named().area_ha;
        "area_left_ha" => |job| job.now().area_left_ha;
        "distance_km" => |job| job.named().distance_km;
        "started" => |job| job.now().started;
        "days_in_hand" => |job| job.now().days_in_hand;
        "slack_h" => |job| job.now().slack_h;
        "p_today" => |job| job.now().p_today;
        "gives_way" => |job| job.now().gives_way;
        "only_if_behind" => |job| job.now().only_if_behind;
        "today" => |job| job.0.names.days[job.now().day].clone();
        "weekday" => |job| job.0.names.weekdays[job.now().day].clone();
        "season_day" => |job| job.now().day as i64 + 1;
        "memory" => |job| job.0.memory.clone();
        "deficit_well_mm" => |job| job.ground("deficit_well_mm", |of| of.deficit[0]);
        "deficit_moderate_mm" => |job| job.ground("deficit_moderate_mm", |of| of.deficit[1]);
        "deficit_poor_mm" => |job| job.ground("deficit_poor_mm", |of| of.deficit[2]);
        "topsoil_mm" => |job| job.ground("topsoil_mm", |of| of.topsoil);
        "rain_yesterday_mm" => |job| job.ground("rain_yesterday_mm", |of| of.rain);
        "rain_week_mm" => |job| job.ground("rain_week_mm", |of| of.rain_week);
    }
    properties! { engine, DayNow:
        "today" => |day| day.0.names.days[day.now().day].clone();
        "weekday" => |day| day.0.names.weekdays[day.now().day].clone();
        "season_day" => |day| day.now().day as i64 + 1;
        "least_days_in_hand" => |day| day.now().least_days_in_hand;
        "memory" => |day| day.0.memory.clone();
        "deficit_well_mm" => |day| day.ground("deficit_well_mm", |of| of.deficit[0]);
        "deficit_moderate_mm" => |day| day.ground("deficit_moderate_mm", |of| of.deficit[1]);
        "deficit_poor_mm" => |day| day.ground("deficit_poor_mm", |of| of.deficit[2]);
        "topsoil_mm" => |day| day.ground("topsoil_mm", |of| of.topsoil);
        "rain_yesterday_mm" => |day| day.ground("rain_yesterday_mm", |of| of.rain);
        "rain_week_mm" => |day| day.ground("rain_week_mm", |of| of.rain_week);
    }
}

/// A job and a day of a season that is a recorded year, for tests.
#[cfg(test)]
pub(super) fn ready_to_read() -> (JobNow, DayNow) {
    let job = JobNames {
        crop: "wheat".into(),
        operation: "drilling".into(),
        work_class: "drilling".into(),
        field: "Long Acre".into(),
        soil: "loam".into(),
        area_ha: 12.0,
        distance_km: 1.5,
    };
    let names = Names { jobs: vec![job], days: vec!["10-01".into()], weekdays: vec!["wed".into()] };
    let (names, memory) = (Rc::new(names), Memory::default());
    let ground =
        Some(Ground { deficit: [Some(5.0); 3], topsoil: Some(2.0), rain: Some(1.0), rain_week: Some(9.0) });
    let (job, day) = (JobNow::new(&names, &memory), DayNow::new(&names, &memory));
    job.0.now.set(OfJob { ground, ..OfJob::default() });
    day.0.now.set(OfDay { ground, ..OfDay::default() });
    (job, day)
}
