//! What a closure sees: a job, a day or a field at a moment of decision, read through properties, and the season's memory.

use super::decision::Decision;
use super::memory::{self, Memory};
use super::names::{FieldNames, JobNames, Names};
use crate::words::nearest;
use rhai::{Array, Dynamic, Engine, EvalAltResult, ImmutableString, Position};
use sim_core::farm::Farm;
use sim_core::season::{DayView, FieldView, JobView, Today};
use sim_core::weather::{Drainage, Yesterday};
use std::cell::{Cell, RefCell};
use std::rc::Rc;

pub(super) type Read<T> = Result<T, Box<EvalAltResult>>;

pub(super) fn refused<T>(why: &str) -> Read<T> {
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

/// What all that is seen at a moment has in common.
#[derive(Debug, Default)]
struct Common {
    names: Names,
    memory: Memory,
    day: Cell<usize>,
    ground: Cell<Option<Ground>>,
    /// Whether any closure asks what a day suits, and that of the day that was last looked at: class by class, in each soil
    /// by soil.
    asks_what_suits: bool,
    suits: RefCell<Vec<bool>>,
    suits_day: Cell<Option<usize>>,
}

impl Common {
    fn set(&self, day: u32, yesterday: Option<&Yesterday<'_>>, today: &Today<'_>) {
        let day = day as usize;
        self.day.set(day);
        self.ground.set(yesterday.map(Ground::of));
        if self.asks_what_suits && self.suits_day.replace(Some(day)) != Some(day) {
            let mut suits = self.suits.borrow_mut();
            suits.clear();
            for class in 0..self.names.classes.len() {
                suits.extend((0..self.names.soils).map(|soil| today.suits(class, soil)));
            }
        }
    }

    /// What the ground was like, or why that is not known.
    fn ground(&self, what: &str, value: impl Fn(&Ground) -> Option<f64>) -> Read<f64> {
        match self.ground.get().as_ref().map(value) {
            Some(Some(mm)) => Ok(mm),
            Some(None) => refused(&format!("the record does not say `{what}` of yesterday")),
            None => refused(&format!(
                "`{what}` is known only where a season is a recorded year, from the record's second day on: \
                 weather: replay(...) or resample(...)"
            )),
        }
    }

    /// Whether today suits a work class, on a soil or on any.
    fn suits_today(&self, class: &str, soil: Option<usize>) -> Read<bool> {
        let names = || self.names.classes.iter().map(ImmutableString::as_str);
        let Some(at) = names().position(|name| name == class) else {
            let near = nearest(class, names()).map_or_else(
                || format!("there are {}", names().collect::<Vec<_>>().join(", ")),
                |near| format!("did you mean \"{near}\"?"),
            );
            return refused(&format!("there is no work class \"{class}\": {near}"));
        };
        let suits = self.suits.borrow();
        let of_class = &suits[at * self.names.soils..][..self.names.soils];
        Ok(soil.map_or_else(|| of_class.contains(&true), |soil| of_class[soil]))
    }
}

/// A job at a moment of decision: each call of a closure sees the one there is, with what it is like then. No closure can
/// keep it, as the memory takes plain values only.
#[derive(Debug, Clone)]
pub(super) struct JobNow(Rc<(Rc<Common>, Cell<OfJob>)>);

/// A day as it begins.
#[derive(Debug, Clone)]
pub(super) struct DayNow(Rc<(Rc<Common>, Cell<OfDay>)>);

/// A field when its straw or its seedbed is decided on.
#[derive(Debug, Clone)]
pub(super) struct FieldNow(Rc<(Rc<Common>, Cell<OfField>)>);

#[derive(Debug, Clone, Copy, Default)]
struct OfJob {
    job: usize,
    slack_h: f64,
    days_in_hand: f64,
    days_needed: f64,
    p_today: f64,
    area_left_ha: f64,
    gives_way: bool,
    started: bool,
    only_if_behind: bool,
}

#[derive(Debug, Clone, Copy, Default)]
struct OfDay {
    least_days_in_hand: f64,
    overtime_week_h: f64,
}

#[derive(Debug, Clone, Copy, Default)]
struct OfField {
    field: usize,
    crop: usize,
    usual: &'static str,
    days_in_hand: f64,
    least_days_in_hand: f64,
}

/// All that closures can see of a farm, as it now is.
#[derive(Debug)]
pub(super) struct Seen {
    common: Rc<Common>,
    pub(super) job: JobNow,
    pub(super) day: DayNow,
    pub(super) field: FieldNow,
}

impl Seen {
    /// Of a farm; `asks_what_suits` says whether any closure asks what a day suits.
    pub(super) fn of(farm: &Farm, asks_what_suits: bool) -> Self {
        Self::with(Common { names: Names::of(farm), asks_what_suits, ..Common::default() })
    }

    fn with(common: Common) -> Self {
        let common = Rc::new(common);
        Self {
            job: JobNow(Rc::new((Rc::clone(&common), Cell::default()))),
            day: DayNow(Rc::new((Rc::clone(&common), Cell::default()))),
            field: FieldNow(Rc::new((Rc::clone(&common), Cell::default()))),
            common,
        }
    }

    /// A season begins.
    pub(super) fn begin(&self) {
        self.common.memory.clear();
        self.common.suits_day.set(None);
    }

    /// What a decision looks at, as a closure is given it.
    pub(super) fn looked_at(&self, of: Decision) -> Dynamic {
        match of.about() {
            "day" => Dynamic::from(self.day.clone()),
            "field" => Dynamic::from(self.field.clone()),
            _ => Dynamic::from(self.job.clone()),
        }
    }

    /// Whether a value is what a decision looks at.
    pub(super) fn is_looked_at(&self, of: Decision, value: &Dynamic) -> bool {
        match of.about() {
            "day" => value.is::<DayNow>(),
            "field" => value.is::<FieldNow>(),
            _ => value.is::<JobNow>(),
        }
    }

    /// Shows a job.
    pub(super) fn job(&self, view: &JobView<'_>, only_if_behind: bool) {
        self.common.set(view.day, view.yesterday.as_ref(), &view.today);
        self.job.0.1.set(OfJob {
            job: view.job,
            slack_h: view.slack_h,
            days_in_hand: view.days_in_hand,
            days_needed: view.days_needed,
            p_today: view.p_today,
            area_left_ha: view.area_left_ha,
            gives_way: view.gives_way,
            started: view.started,
            only_if_behind,
        });
    }

    /// Shows a day.
    pub(super) fn day(&self, view: &DayView<'_>) {
        self.common.set(view.day, view.yesterday.as_ref(), &view.today);
        self.day.0.1.set(OfDay {
            least_days_in_hand: view.least_days_in_hand,
            overtime_week_h: view.overtime_week_h,
        });
    }

    /// Shows a field.
    pub(super) fn field(&self, view: &FieldView<'_>, usual: &'static str) {
        self.common.set(view.day, view.yesterday.as_ref(), &view.today);
        self.field.0.1.set(OfField {
            field: view.field,
            crop: view.crop,
            usual,
            days_in_hand: view.days_in_hand,
            least_days_in_hand: view.least_days_in_hand,
        });
    }
}

/// What is seen, with what all that is seen has in common.
trait View {
    fn common(&self) -> &Common;
}

macro_rules! view {
    ($($type:ty),*) => {
        $(impl View for $type {
            fn common(&self) -> &Common {
                &self.0.0
            }
        })*
    };
}

view!(JobNow, DayNow, FieldNow);

impl JobNow {
    fn now(&self) -> OfJob {
        self.0.1.get()
    }

    fn named(&self) -> &JobNames {
        &self.common().names.jobs[self.now().job]
    }

    fn field(&self) -> &FieldNames {
        &self.common().names.fields[self.named().field]
    }

    fn outfits(&self) -> Array {
        self.common().names.outfits[self.named().row].iter().cloned().map(Dynamic::from).collect()
    }
}

impl DayNow {
    fn now(&self) -> OfDay {
        self.0.1.get()
    }
}

impl FieldNow {
    fn now(&self) -> OfField {
        self.0.1.get()
    }

    fn named(&self) -> &FieldNames {
        &self.common().names.fields[self.now().field]
    }
}

macro_rules! properties {
    ($engine:ident, $type:ty: $($name:literal => $read:expr;)*) => {
        $( $engine.register_get($name, $read as fn(&mut $type) -> _); )*
    };
}

/// Teaches an engine the types.
pub(in super::super) fn register(engine: &mut Engine) {
    memory::register(engine);
    engine.register_type_with_name::<JobNow>("job");
    engine.register_type_with_name::<DayNow>("day");
    engine.register_type_with_name::<FieldNow>("field");
    shared::<JobNow>(engine, |job| Some(job.field().soil_at));
    shared::<DayNow>(engine, |_| None);
    shared::<FieldNow>(engine, |field| Some(field.named().soil_at));
    properties! { engine, JobNow:
        "crop" => |job| job.common().names.crops[job.named().crop].clone();
        "operation" => |job| job.named().operation.clone();
        "work_class" => |job| job.common().names.classes[job.named().class].clone();
        "outfits" => |job| job.outfits();
        "field" => |job| job.field().name.clone();
        "soil" => |job| job.field().soil.clone();
        "area_ha" => |job| job.field().area_ha;
        "area_left_ha" => |job| job.now().area_left_ha;
        "distance_km" => |job| job.field().distance_km;
        "started" => |job| job.now().started;
        "days_in_hand" => |job| job.now().days_in_hand;
        "days_needed" => |job| job.now().days_needed;
        "slack_h" => |job| job.now().slack_h;
        "p_today" => |job| job.now().p_today;
        "gives_way" => |job| job.now().gives_way;
        "only_if_behind" => |job| job.now().only_if_behind;
    }
    properties! { engine, DayNow:
        "least_days_in_hand" => |day| day.now().least_days_in_hand;
        "overtime_week_h" => |day| day.now().overtime_week_h;
    }
    properties! { engine, FieldNow:
        "name" => |field| field.named().name.clone();
        "crop" => |field| field.common().names.crops[field.now().crop].clone();
        "soil" => |field| field.named().soil.clone();
        "area_ha" => |field| field.named().area_ha;
        "distance_km" => |field| field.named().distance_km;
        "usual" => |field| ImmutableString::from(field.now().usual);
        "days_in_hand" => |field| field.now().days_in_hand;
        "least_days_in_hand" => |field| field.now().least_days_in_hand;
    }
}

/// Teaches an engine what can be read of all that is seen; where what is seen lies on a soil, `soil` says which.
fn shared<V: View + Clone + 'static>(engine: &mut Engine, soil: fn(&V) -> Option<usize>) {
    properties! { engine, V:
        "today" => |of| of.common().names.days[of.common().day.get()].clone();
        "weekday" => |of| of.common().names.weekdays[of.common().day.get()].clone();
        "season_day" => |of| of.common().day.get() as i64 + 1;
        "memory" => |of| of.common().memory.clone();
        "deficit_well_mm" => |of| of.common().ground("deficit_well_mm", |of| of.deficit[0]);
        "deficit_moderate_mm" => |of| of.common().ground("deficit_moderate_mm", |of| of.deficit[1]);
        "deficit_poor_mm" => |of| of.common().ground("deficit_poor_mm", |of| of.deficit[2]);
        "topsoil_mm" => |of| of.common().ground("topsoil_mm", |of| of.topsoil);
        "rain_yesterday_mm" => |of| of.common().ground("rain_yesterday_mm", |of| of.rain);
        "rain_week_mm" => |of| of.common().ground("rain_week_mm", |of| of.rain_week);
    }
    engine
        .register_fn("suits_today", move |of: &mut V, class: &str| of.common().suits_today(class, soil(of)));
}

/// A job, a day and a field of a season that is a recorded year, for tests.
#[cfg(test)]
pub(super) fn ready_to_read() -> Seen {
    let job = JobNames { row: 0, crop: 0, field: 0, class: 0, operation: "drilling".into() };
    let field = FieldNames {
        name: "Long Acre".into(),
        soil: "loam".into(),
        soil_at: 0,
        area_ha: 12.0,
        distance_km: 1.5,
    };
    let names = Names {
        jobs: vec![job],
        fields: vec![field],
        crops: vec!["wheat".into()],
        classes: vec!["drilling".into()],
        outfits: vec![vec!["drill".into()]],
        days: vec!["10-01".into()],
        weekdays: vec!["wed".into()],
        soils: 1,
    };
    let ground =
        Some(Ground { deficit: [Some(5.0); 3], topsoil: Some(2.0), rain: Some(1.0), rain_week: Some(9.0) });
    let suits = RefCell::new(vec![true]);
    Seen::with(Common { names, ground: Cell::new(ground), suits, ..Common::default() })
}
