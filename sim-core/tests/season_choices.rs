//! What a policy decides of straw, seedbeds and outfits, in seasons worked by hand; and that who decides as usual changes
//! nothing.

mod common;
mod worked;

use common::*;
use sim_core::farm::spec::*;
use sim_core::farm::{Farm, FarmErrorKind};
use sim_core::season::{DayView, Entry, FieldView, JobView, Manager, Plan, Policy, PolicyError, What};
use worked::*;

/// Decides as it is told.
#[derive(Default)]
struct Told {
    straw: Option<fn(&FieldView<'_>) -> Straw>,
    tillage: Option<fn(&FieldView<'_>) -> usize>,
    outfit: Option<fn(&JobView<'_>) -> Option<usize>>,
    /// The fields asked about, with the day.
    asked: Vec<(usize, u32)>,
}

impl Policy for Told {
    fn fields_rank_alike(&self) -> bool {
        true
    }

    fn overtime_h(&mut self, day: &DayView<'_>) -> Result<f64, PolicyError> {
        Manager.overtime_h(day)
    }

    fn names_outfits(&self) -> bool {
        self.outfit.is_some()
    }

    fn outfit(&mut self, job: &JobView<'_>) -> Result<Option<usize>, PolicyError> {
        Ok(self.outfit.and_then(|outfit| outfit(job)))
    }

    fn straw(&mut self, field: &FieldView<'_>, usual: Straw) -> Result<Straw, PolicyError> {
        self.asked.push((field.field, field.day));
        Ok(self.straw.map_or(usual, |straw| straw(field)))
    }

    fn tillage(&mut self, field: &FieldView<'_>, usual: usize) -> Result<usize, PolicyError> {
        self.asked.push((field.field, field.day));
        Ok(self.tillage.map_or(usual, |tillage| tillage(field)))
    }
}

fn work(spec: &FarmSpec, policy: &mut impl Policy, suitable: impl Fn(usize) -> bool) -> Worked {
    let plan = Plan::new(Farm::new(spec).unwrap());
    let sky = sky_of(plan.farm(), suitable);
    work_under(&plan, policy, &sky)
}

/// Combining (1 ha/h), then baling (2 ha/h) if the straw is baled; one driver from 8 to 18 h. Chopping slows combining to
/// half.
fn harvest() -> FarmSpec {
    let mut spec = bare(1.0);
    spec.left_open.straw = true;
    spec.people.push(person("driver", &["combine", "baler"]));
    spec.machines.extend([machine("combine", 1.0), machine("baler", 2.0)]);
    spec.outfits.extend([outfit("combine", &["combine"]), outfit("baler", &["baler"])]);
    let mut combining = operation("combining", &["combine"], ["01-01", "01-10", "01-31"]);
    combining.chopping_factor = 0.5;
    let mut baling = operation("baling", &["baler"], ["01-01", "01-12", "01-31"]);
    baling.after.push(link("combining"));
    baling.straw = Some(Straw::Bale);
    spec.crops.push(crop("wheat", vec![combining, baling]));
    spec.fields.extend([field("Home", 5.0, "wheat"), field("Long Acre", 4.0, "wheat")]);
    spec
}

#[test]
fn straw_that_is_chopped_is_not_baled_and_slows_the_combine() {
    let spec = harvest();
    let mut chops = Told { straw: Some(|_| Straw::Chop), ..Told::default() };
    let worked = work(&spec, &mut chops, |_| true);
    // 10 h on the first day for 5 ha, 8 h on the second for 4 ha; nothing is baled.
    assert_eq!(worked.outcome.rows[0].finish, Some(at(1, 16.0)));
    let baling = &worked.outcome.rows[1];
    assert_eq!((baling.finish, baling.late, baling.area_unfinished_ha), (Some(0), false, 0.0));
    // Each field is asked about when its combine sets out.
    assert_eq!(chops.asked, [(0, 0), (1, 1)]);
    let usual = work(&spec, &mut Told::default(), |_| true);
    // 5 h and 4 h, and baling 2.5 h and 2 h between them or after: 13.5 h in all.
    assert_eq!(usual.outcome.rows[0].finish.max(usual.outcome.rows[1].finish), Some(at(1, 11.5)));
}

#[test]
fn straw_can_be_baled_on_one_field_and_chopped_on_another() {
    let mut spec = harvest();
    spec.crops[0].straw = Straw::Chop;
    let mut some = Told {
        straw: Some(|of| if of.farm.fields[of.field].area_ha > 4.5 { Straw::Bale } else { Straw::Chop }),
        ..Told::default()
    };
    let worked = work(&spec, &mut some, |_| true);
    let jobs = |name: &str| -> Vec<(usize, What)> {
        let named = |entry: &&(i64, Entry)| {
            let farm = Farm::new(&spec).unwrap();
            farm.rows[farm.jobs[entry.1.job].row].operation == name
        };
        worked.log.iter().filter(named).map(|(_, entry)| (entry.job, entry.what)).collect()
    };
    // Chopping is usual here, so that baling Home is taken on.
    assert_eq!(
        jobs("baling"),
        [(1, What::TakenOn), (1, What::WindowOpens), (1, What::Starts), (1, What::Done)]
    );
    // Combining takes 5 h baled and 8 h chopped, baling 2.5 h.
    let work_h: Vec<f64> = worked.accounts.iter().map(|of| of.work_s as f64 / 3600.0).collect();
    assert_eq!(work_h, [5.0, 2.5, 8.0, 0.0]);
    assert!(worked.outcome.rows.iter().all(|row| !row.late && row.finish.is_some()));
}

/// Ploughing (1 ha/h) or min-till (4 ha/h), then drilling (2 ha/h), behind a crop that is combined or on bare land.
fn autumn(standing: bool) -> FarmSpec {
    let mut spec = bare(1.0);
    spec.left_open.tillage = true;
    spec.people.push(person("driver", &["combine", "plough", "discs", "drill"]));
    let machines = [("combine", 1.0), ("plough", 1.0), ("discs", 4.0), ("drill", 2.0)];
    for (name, rate) in machines {
        spec.machines.push(machine(name, rate));
        spec.outfits.push(outfit(name, &[name]));
    }
    let tilled = |name: &str, way: &str| OperationSpec {
        tillage: vec![way.into()],
        ..operation(name, &[if way == "plough" { "plough" } else { "discs" }], ["01-02", "01-20", "01-31"])
    };
    let mut drilling = operation("drilling", &["drill"], ["01-02", "01-20", "01-31"]);
    drilling.after.extend([link("ploughing"), link("min-till")]);
    let following = vec![tilled("ploughing", "plough"), tilled("min-till", "min_till"), drilling];
    spec.crops.push(CropSpec { following, ..crop("wheat", Vec::new()) });
    spec.crops.push(crop("barley", vec![operation("combining", &["combine"], ["01-01", "01-10", "01-31"])]));
    let stands = standing.then(|| "barley".to_string());
    spec.fields.push(FieldSpec {
        standing: stands,
        following: Some("wheat".into()),
        ..field("Home", 8.0, "")
    });
    spec
}

#[test]
fn min_till_in_the_place_of_the_plough_brings_drilling_forward() {
    let rows = |spec: &FarmSpec, name: &str| {
        Farm::new(spec).unwrap().rows.iter().position(|row| row.operation == name).unwrap()
    };
    for standing in [true, false] {
        let spec = autumn(standing);
        let (ploughing, min_till, drilling) =
            (rows(&spec, "ploughing"), rows(&spec, "min-till"), rows(&spec, "drilling"));
        let ploughed = work(&spec, &mut Told::default(), |_| true);
        assert_eq!(ploughed.outcome.rows[ploughing].finish, Some(at(1, 16.0)));
        assert_eq!(ploughed.outcome.rows[min_till].finish, Some(0));
        assert_eq!(ploughed.outcome.rows[drilling].finish, Some(at(2, 10.0)));
        let mut tills = Told { tillage: Some(|_| 1), ..Told::default() };
        // Two hours of min-till on the second day and four of drilling behind it.
        let tilled = work(&spec, &mut tills, |_| true);
        assert_eq!(tilled.outcome.rows[ploughing].finish, Some(0));
        assert_eq!(tilled.outcome.rows[min_till].finish, Some(at(1, 10.0)));
        assert_eq!(tilled.outcome.rows[drilling].finish, Some(at(1, 14.0)));
        // After harvest, which ends on the first day; of bare land on the first day of a window.
        assert_eq!(tills.asked, [(0, u32::from(!standing))]);
    }
}

#[test]
fn direct_drilling_waits_for_no_tillage_but_for_the_harvest() {
    let mut spec = autumn(true);
    spec.fields[0].area_ha = 30.0;
    let mut drills = Told { tillage: Some(|_| 2), ..Told::default() };
    let worked = work(&spec, &mut drills, |_| true);
    let farm = Farm::new(&spec).unwrap();
    let finish = |name: &str| {
        worked.outcome.rows[farm.rows.iter().position(|row| row.operation == name).unwrap()].finish
    };
    // Combining takes three days of ten hours, drilling a day and a half.
    assert_eq!((finish("combining"), finish("drilling")), (Some(at(2, 18.0)), Some(at(4, 13.0))));
    assert_eq!((finish("ploughing"), finish("min-till")), (Some(0), Some(0)));
    assert_eq!(drills.asked, [(0, 2)]);
}

#[test]
fn what_is_taken_on_after_its_last_day_is_not_done() {
    let mut spec = autumn(true);
    let day = |text: &str| When::Date(text.parse().unwrap());
    // Harvest ends on 3 January, after min-till's last day.
    spec.fields[0].area_ha = 30.0;
    let min_till = &mut spec.crops[0].following[1];
    (min_till.due, min_till.latest) = (day("01-02"), Some(day("01-02")));
    let mut tills = Told { tillage: Some(|_| 1), ..Told::default() };
    let worked = work(&spec, &mut tills, |_| true);
    let undone: Vec<&str> = Farm::new(&spec)
        .unwrap()
        .rows
        .iter()
        .zip(&worked.outcome.rows)
        .filter(|(_, out)| out.finish.is_none())
        .map(|(row, _)| if row.operation == "min-till" { "min-till" } else { "drilling" })
        .collect();
    assert_eq!(undone, ["min-till", "drilling"]);
}

#[test]
fn who_decides_as_usual_changes_nothing() {
    for mut spec in [harvest(), autumn(true), autumn(false)] {
        for way in ["plough", "min_till", "direct"] {
            for straw in [Straw::Bale, Straw::Chop] {
                spec.crops.iter_mut().for_each(|crop| (crop.tillage, crop.straw) = (way.into(), straw));
                let settled = FarmSpec { left_open: LeftOpen::default(), ..spec.clone() };
                for wet in 2..7 {
                    let (open, plain) = (
                        work(&spec, &mut Told::default(), |day| day % wet != 0),
                        work(&settled, &mut Manager, |day| day % wet != 0),
                    );
                    let named = |spec: &FarmSpec, of: &Worked| -> Vec<_> {
                        let farm = Farm::new(spec).unwrap();
                        let rows = farm.rows.iter().zip(of.outcome.rows.clone());
                        rows.map(|(row, out)| (row.operation.clone(), out)).collect()
                    };
                    let open_rows = named(&spec, &open);
                    for (name, out) in named(&settled, &plain) {
                        assert!(open_rows.contains(&(name.clone(), out)), "{way} {straw:?} {wet} {name}");
                    }
                    let others = open_rows.len() - plain.outcome.rows.len();
                    let idle = open_rows.iter().filter(|(_, out)| out.finish == Some(0)).count();
                    assert_eq!(others, idle, "{way} {straw:?}");
                    assert_eq!(open.outcome.use_s, plain.outcome.use_s);
                }
            }
        }
    }
}

#[test]
fn a_window_counted_from_work_that_may_be_left_out_is_refused() {
    let mut spec = autumn(false);
    let after = |days| When::DaysAfter { operation: "ploughing".into(), days };
    let drilling = &mut spec.crops[0].following[2];
    (drilling.from, drilling.due, drilling.latest) = (after(1), after(9), None);
    let error = Farm::new(&spec).unwrap_err();
    assert!(matches!(error.kind, FarmErrorKind::Conflict { .. }), "{error}");
    // With a tillage of its own it is done when that is.
    spec.crops[0].following[2].tillage = vec!["plough".into()];
    spec.crops[0].following[2].after.truncate(1);
    Farm::new(&spec).unwrap();
}

/// Two mowers, of 1 and 2 ha/h, with a driver each.
fn two_mowers() -> FarmSpec {
    let mut spec = bare(1.0);
    for (name, rate) in [("small", 1.0), ("large", 2.0)] {
        spec.people.push(person(&format!("{name} driver"), &[name]));
        spec.machines.push(machine(name, rate));
        spec.outfits.push(outfit(name, &[name]));
    }
    spec.crops
        .push(crop("grass", vec![operation("mowing", &["small", "large"], ["01-01", "01-20", "01-31"])]));
    spec.fields.extend([field("Home", 4.0, "grass"), field("Long Acre", 6.0, "grass")]);
    spec
}

#[test]
fn the_outfit_that_is_named_takes_the_job_and_no_other() {
    let spec = two_mowers();
    // Left to itself the first field gets the first outfit: 4 h, and the large mower 3 h.
    let free = work(&spec, &mut Told::default(), |_| true);
    assert_eq!(free.outcome.rows[0].finish, Some(at(0, 12.0)));
    // Named for both, the large mower does one after the other: 2 h and 3 h; the small one stands still.
    let mut large = Told { outfit: Some(|_| Some(1)), ..Told::default() };
    let worked = work(&spec, &mut large, |_| true);
    assert_eq!(worked.outcome.rows[0].finish, Some(at(0, 13.0)));
    assert_eq!(worked.outcome.use_s[..48].iter().sum::<i64>(), 5 * 3600);
    // Each field its own: the larger field has the small mower, though the large one is free after 2 h.
    let mut crossed = Told { outfit: Some(|job| Some(1 - job.job)), ..Told::default() };
    let worked = work(&spec, &mut crossed, |_| true);
    assert_eq!(worked.accounts[0].finish, Some(at(0, 10.0)));
    assert_eq!(worked.accounts[1].finish, Some(at(0, 14.0)));
}
