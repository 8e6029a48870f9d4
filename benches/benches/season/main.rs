//! A plain farm's season against loops by hand and against SimPy: ratios, from alternate rounds of one run.
//!
//! Two farms and two loops. On the farm of three crops and two soils something is chosen every morning and at every
//! finish, and its loop does the season's whole job for that kind of farm. On the farm of one crop the order of the
//! fields is known beforehand: its loop decides nothing and keeps no account of any job. SimPy is given the days and
//! keeps no accounts. All three must finish every job at the same second in every season, and every figure and
//! account that a loop keeps must be the season's.
#![allow(clippy::print_stdout, reason = "printing the ratios is what it is for")]
#![allow(clippy::unwrap_used, reason = "the farms are fixed: a mistake in them is one of this bench")]

#[path = "../../../sim-core/tests/common/mod.rs"]
mod common;
mod contest;
mod crops;
mod one_crop;

use contest::{Contest, Figures, Floor, run_simpy};
use sim_core::farm::Farm;
use sim_core::farm::spec::FarmSpec;
use sim_core::season::Plan;
use sim_core::weather::Weather;

const SEASONS: u64 = 200;
const FIELDS: usize = 40;
const ROUNDS: usize = 45;
/// How often a loop works all seasons in a round: as long as the others take, so that a busy machine slows all alike.
const REPEATS: usize = 8;
/// SimPy, the slowest by far, takes part in every so many rounds.
const SIMPY_EVERY: usize = 9;
const SEED: u64 = 1;

fn made_ready(spec: &FarmSpec) -> (Plan, Weather) {
    let plan = Plan::new(Farm::new(spec).unwrap());
    let weather = Weather::new(&plan.farm().weather).unwrap();
    (plan, weather)
}

/// Compares; gives what SimPy read, or nothing if it cannot be run.
fn compare<F: Floor>(
    contest: &mut Contest<'_, F>,
    script: &str,
    mut text: String,
    what: &str,
) -> Option<String> {
    contest.days_in_text(&mut text);
    let simpy = run_simpy(script, &text);
    let [done, undone, late] = contest.check(simpy.as_ref().map(|(_, finish)| finish.as_slice()));
    let who =
        if simpy.is_some() { "by hand, season and SimPy" } else { "by hand and season (SimPy NOT MEASURED)" };
    println!("{what}, {SEASONS} seasons: {done} jobs done, {undone} not, {late} operations of a crop late;");
    println!("    every job at the same second {who}, every figure of the loop the season's");
    simpy.map(|_| text)
}

fn print(figures: &Figures, season_wanted: &str) {
    let [drawn, given] = figures.floor;
    println!("medians of {ROUNDS} alternate rounds, microseconds a season: sky drawn / sky given");
    println!("{:>10.2}             drawing the sky alone", figures.sky);
    println!("{drawn:>10.2} {given:>10.2}  by hand");
    println!("{:>10.2} {:>10.2}  season", figures.season[0], figures.season[1]);
    let ratio = |what: &str, [drawn, given]: [f64; 2], wanted: &str| {
        println!("{what} {drawn:.2} with the drawing of the sky, {given:.2} without{wanted}");
    };
    ratio("season / by hand", figures.season_to_floor, season_wanted);
    let Some(peer) = &figures.peer else {
        println!("SimPy: NOT MEASURED (name a Python that has it in DRYSPELL_PYTHON)");
        return;
    };
    println!(
        "           {:>10.2}  SimPy, days given, no accounts, start of the interpreter left out",
        peer.micros
    );
    ratio("SimPy / by hand", peer.to_floor, " (at least 50 wanted)");
    ratio("SimPy / season", peer.to_season, " (at least 15 wanted)");
}

fn main() {
    // Farms like the one that is timed, on which more is left undone, and with more fields to a crop and soil.
    for (fields, times) in [(FIELDS, 0.5), (450, 0.8)] {
        let (plan, weather) = made_ready(&crops::farm(fields, times));
        let numbers = crops::numbers(&plan);
        let mut contest = Contest::new(&plan, &weather, speed::crops::ByHand::new(&numbers));
        let what = format!("three crops, two soils, {fields} fields, chances x {times}");
        compare(&mut contest, "crops.py", crops::in_text(&numbers), &what);
    }
    let (plan, weather) = made_ready(&crops::farm(FIELDS, 1.0));
    let numbers = crops::numbers(&plan);
    let mut contest = Contest::new(&plan, &weather, speed::crops::ByHand::new(&numbers));
    let what = format!("three crops, two soils, {FIELDS} fields");
    let text = compare(&mut contest, "crops.py", crops::in_text(&numbers), &what);
    println!(
        "this loop ranks what is ready each morning and on becoming ready, chooses at every finish, and keeps"
    );
    println!(
        "every job's account and every row's; it knows no outfits, ways, followers, lags, supply or policies"
    );
    print(&contest.measure(text.as_deref().map(|text| ("crops.py", text))), " (at most 3.5 wanted)");
    println!();
    let (plan, weather) = made_ready(&one_crop::farm());
    let numbers = one_crop::numbers(&plan);
    let mut contest = Contest::new(&plan, &weather, speed::plain::ByHand::new(&numbers));
    let what = format!("one crop, one soil, {FIELDS} fields");
    let text = compare(&mut contest, "one_crop.py", one_crop::in_text(&numbers), &what);
    println!(
        "this bare loop knows in which order the fields are worked: it ranks and chooses nothing, and keeps the"
    );
    println!("rows' figures without any job's account; what the season does beyond that is in the ratio");
    print(&contest.measure(text.as_deref().map(|text| ("one_crop.py", text))), "");
}
