//! Scripts as a whole: those that ship with the program, every verb and key, and mistakes as people see them.

mod imports;
mod mistakes;
mod policy;
mod settings;
mod variants;
mod verbs;
mod walls;

use super::*;

fn scenario(name: &str) -> Script {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../scenarios");
    Script::from_file(&folder.join(name)).unwrap()
}

fn set(pairs: &[(&str, &str)]) -> Vec<(String, String)> {
    pairs.iter().map(|(name, value)| ((*name).to_string(), (*value).to_string())).collect()
}

#[test]
fn the_shipped_scripts_are_farms() {
    let (farm, parameters) = scenario("one-operation.rhai").farm(&set(&[("allowed_days", "30")])).unwrap();
    assert_eq!((farm.jobs.len(), farm.rows.len(), farm.fields.len()), (1, 1, 1));
    assert_eq!(farm.jobs[0].window, sim_core::farm::Window::Fixed { from: 0, due: 29, latest: 364 });
    let names: Vec<&str> = parameters.iter().map(|parameter| parameter.name.as_str()).collect();
    let wanted = "area_ha work_rate_ha_h hours_per_day p_suitable persistence year_spread allowed_days";
    assert_eq!(names.join(" "), wanted);

    let script = scenario("new-farm/farm.rhai");
    let (farm, _) = match script.farm(&[]) {
        Ok(farm) => farm,
        Err(error) => panic!("{error}"),
    };
    assert_eq!(farm.fields.iter().map(|field| field.area_ha).sum::<f64>(), 120.0);
    assert_eq!(farm.crops.len(), 4);
    let (without, _) = script.farm(&set(&[("second_driver", "false")])).unwrap();
    assert_eq!(without.people.len() + 1, farm.people.len());
}

#[test]
fn scripts_and_their_mistakes_cross_threads() {
    fn crosses<T: Send + Sync>() {}
    crosses::<Script>();
    crosses::<ScriptError>();
}
