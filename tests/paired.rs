//! Intervals of differences between pairs, against the published formulas written a second time in Python and against
//! scipy's paired t test.
// A helper of a test may fail as the test itself may.
#![allow(clippy::unwrap_used)]

#[path = "support/python.rs"]
mod python;

use serde_json::json;
use sim_core::study::{PairedMean, PairedShare};

/// Both, only the variant, only the base, neither, of which 50 or more differ: every margin empty, strong and contrary
/// correlation, a numerator of phi below and just above the correction, many seasons.
const MANY_DIFFER: [[u32; 4]; 14] = [
    [10, 10, 70, 120],
    [140, 50, 0, 220],
    [144, 48, 8, 0],
    [0, 50, 0, 0],
    [0, 0, 50, 0],
    [0, 20, 30, 0],
    [0, 60, 0, 940],
    [50, 0, 70, 0],
    [9, 30, 36, 12],
    [24, 36, 18, 48],
    [25, 25, 25, 26],
    [25, 25, 25, 28],
    [620, 12, 70, 1298],
    [30_000, 900, 1_000, 68_100],
];

/// The same where fewer differ: none, one, all one way, all pairs there are, many seasons.
const FEW_DIFFER: [[u32; 4]; 15] = [
    [1, 1, 7, 12],
    [14, 5, 0, 22],
    [36, 12, 2, 0],
    [0, 0, 0, 50],
    [50, 0, 0, 0],
    [20, 0, 0, 30],
    [0, 49, 0, 0],
    [0, 3, 0, 47],
    [5, 0, 3, 0],
    [3, 10, 12, 4],
    [4, 4, 4, 9],
    [1, 0, 0, 1],
    [0, 0, 1, 1999],
    [1990, 4, 6, 0],
    [3_000, 24, 25, 6_951],
];

/// The first table is published (Fagerland, Lydersen and Laake 2014, Statistics in Medicine 33:2850-2875; figures from
/// memory).
const PUBLISHED: [u32; 4] = [1, 1, 7, 12];

fn agrees(method: &str, tables: &[[u32; 4]], published: [f64; 2]) {
    let case = |table: &[u32; 4]| json!({ "table": table, "method": method });
    let cases: Vec<_> = tables.iter().chain([&PUBLISHED]).map(case).collect();
    let answers = python::ask("paired.py", &json!(cases));
    let answers = answers.as_array().unwrap();
    for (end, want) in answers[tables.len()].as_array().unwrap().iter().zip(published) {
        assert!((end.as_f64().unwrap() - want).abs() < 5e-4, "{end} against {want}");
    }
    for (table, answer) in tables.iter().zip(answers) {
        let [both, only_variant, only_base, neither] = table.map(f64::from);
        let (low, high) = PairedShare { both, only_variant, only_base, neither }.interval();
        let (want_low, want_high) = (answer[0].as_f64().unwrap(), answer[1].as_f64().unwrap());
        // Roots of an equation are right to half of the digits where they meet, at 0 and 1; so is a likelihood's top.
        assert!(
            (low - want_low).abs() < 1e-7 && (high - want_high).abs() < 1e-7,
            "{table:?}: {low} {high} {answer}"
        );
    }
}

#[test]
fn the_interval_of_a_paired_difference_is_newcombes_method_10() {
    agrees("newcombe", &MANY_DIFFER, [-0.507, -0.026]);
}

#[test]
fn where_few_pairs_differ_it_is_tangos() {
    agrees("tango", &FEW_DIFFER, [-0.517, -0.026]);
}

#[test]
fn the_interval_of_a_mean_difference_is_that_of_the_paired_t_test() {
    // Differences in days: mostly none, now and then many. From 2 pairs to beyond where t is taken from its series.
    let differences = |count: i64| -> Vec<f64> {
        (0..count).map(|at| ((at * 7919 + 13) % 101 - 60).max(-4) as f64 * 0.25 - (at % 3) as f64).collect()
    };
    let counts = [2, 3, 5, 10, 45, 200, 999, 1001, 1002, 2000, 30_000];
    let cases: Vec<_> = counts.iter().map(|count| json!({ "differences": differences(*count) })).collect();
    let answers = python::ask("paired.py", &json!(cases));
    for (count, answer) in counts.iter().zip(answers.as_array().unwrap()) {
        let mut mean = PairedMean::default();
        differences(*count).into_iter().for_each(|difference| mean.add(difference));
        let (low, high) = mean.interval().unwrap();
        let near = |own: f64, want: f64| (own - want).abs() < 1e-9 * (high - low);
        let (want_low, want_high) = (answer[0].as_f64().unwrap(), answer[1].as_f64().unwrap());
        assert!(near(low, want_low) && near(high, want_high), "{count}: {low} {high} {answer}");
        let (enough, want) = (mean.pairs_for_interval().unwrap(), answer[2].as_f64().unwrap());
        assert!(enough - want > -1e-9 && enough - want < 1.0, "{count}: {enough} {answer}");
    }
}
