//! What it is worth to work two farms under the same skies: the demo farm as it is against a drill of 6 m, paired
//! season by season, and beside it with seeds of their own.
// A helper of a test may fail as the test itself may.
#![allow(clippy::unwrap_used)]

use std::path::Path;

use sim_core::farm::Farm;
use sim_core::season::{Manager, Outcome};
use sim_core::study::{Hooks, PairedMean, PairedShare, Sink, Study, Variant};
use sim_script::script::Script;

const SEASONS: u64 = 3_000;
const SEED: u64 = 1;
const OTHER_SEED: u64 = 2;
/// Paired, the half-width of days late must be at most this share of that with seeds of their own.
const DAYS_BOUND: f64 = 0.5;
/// No two farms can differ in their shares by d with less variance of a pair than |d| (1 - |d|), that of farms of which
/// one is never late where the other is not; so many times that is the bound.
const SHARE_BOUND: f64 = 1.3;

fn demo(drill_width_m: &str) -> Farm {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../scenarios/demo/farm.rhai");
    let settings = [("drill_width_m".to_owned(), drill_width_m.to_owned())];
    Script::from_file(&path).unwrap().farm(&settings).unwrap().0
}

/// Late or not, and days late, of every season and row.
#[derive(Default)]
struct Rows(Vec<Vec<(bool, f64)>>);

impl Sink for Rows {
    fn season(&mut self, _variant: usize, outcome: &Outcome) {
        self.0.push(outcome.rows.iter().map(|row| (row.late, f64::from(row.days_late))).collect());
    }
}

/// Two farms' seasons laid side by side.
fn pairs(base: &Rows, variant: &Rows, rows: (usize, usize)) -> (PairedShare, PairedMean) {
    let (mut late, mut days) = (PairedShare::default(), PairedMean::default());
    for (base, variant) in base.0.iter().zip(&variant.0) {
        let (of_base, of_variant) = (base[rows.0], variant[rows.1]);
        let cell = match (of_variant.0, of_base.0) {
            (true, true) => &mut late.both,
            (true, false) => &mut late.only_variant,
            (false, true) => &mut late.only_base,
            (false, false) => &mut late.neither,
        };
        *cell += 1.0;
        days.add(of_variant.1 - of_base.1);
    }
    (late, days)
}

fn half(interval: (f64, f64)) -> f64 {
    (interval.1 - interval.0) / 2.0
}

#[test]
fn the_same_skies_tell_a_wider_drill_from_the_one_there_is() {
    let study = |width: &str, seed| {
        let variants = vec![Variant::new(width, demo(width)).unwrap()];
        let study = Study { variants, seasons: SEASONS, seed, threads: 2 };
        let mut rows = Rows::default();
        study.run(&Manager, Hooks { sink: Some(&mut rows), ..Hooks::default() }).unwrap();
        rows
    };
    let apart = (study("4", SEED), study("6", OTHER_SEED));
    let together = Study {
        variants: vec![Variant::new("4", demo("4")).unwrap(), Variant::new("6", demo("6")).unwrap()],
        seasons: SEASONS,
        seed: SEED,
        threads: 2,
    };
    let found = together.run(&Manager, Hooks::default()).unwrap();
    let farm = together.variants[0].plan.farm();
    let mut checked = 0;
    println!(
        "{SEASONS} seasons; half-widths of 95 % intervals; variance of a pair over |d| (1 - |d|)\n{:40} {:>23} {:>8} {:>8} {:>6} {:>8} {:>8} {:>6}",
        "operation", "late as it is, then", "paired", "apart", "var", "days", "apart", "ratio"
    );
    for row in &found.comparisons[0].rows {
        let of = &farm.rows[row.base];
        let name = format!("{}, {}", of.operation, farm.crops[of.crop]);
        let (late_apart, days_apart) = pairs(&apart.0, &apart.1, (row.base, row.variant));
        let d = row.late.difference().abs();
        let variance = (row.late.only_base + row.late.only_variant) / row.late.pairs() - d * d;
        let of_least = variance / (d * (1.0 - d));
        let (days, days_own) =
            (half(row.days_late.interval().unwrap()), half(days_apart.interval().unwrap()));
        let barley = name == "drilling, spring barley";
        if row.late.told_apart() || barley {
            println!(
                "{name:40} {:>11.4} {:>11.4} {:>8.4} {:>8.4} {of_least:>6.3} {days:>8.4} {days_own:>8.4} {:>6.3}",
                row.late.of_base(),
                row.late.of_variant(),
                half(row.late.interval()),
                half(late_apart.interval()),
                days / days_own,
            );
        }
        if barley {
            checked += 1;
            assert!(
                row.late.told_apart() && row.days_late.told_apart(),
                "{name}: there is a difference to see"
            );
            assert!(days <= DAYS_BOUND * days_own, "{name}: days late {days} paired, {days_own} apart");
            assert!(of_least <= SHARE_BOUND, "{name}: variance {variance}, difference {d}");
        }
    }
    assert_eq!(checked, 1);
}
