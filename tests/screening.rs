//! Screening by elementary effects: against SALib on the same ways and outputs, and against functions whose effects are
//! known.
// A helper of a test may fail as the test itself may.
#![allow(clippy::unwrap_used)]

#[path = "support/python.rs"]
mod python;

use serde_json::{Value, json};
use sim_core::study::screen::{Design, Effects, Factor, Levels};
use std::f64::consts::PI;

fn design(factors: usize, levels: usize, trajectories: usize, seed: u64) -> Design {
    let factor = |at: usize| Factor { name: format!("x{at}"), levels: Levels::even(levels) };
    Design::draw((0..factors).map(factor).collect(), trajectories, seed)
}

/// The points in 0 to 1.
fn points(design: &Design) -> Vec<Vec<f64>> {
    let position = |(level, factor): (&usize, &Factor)| match &factor.levels {
        Levels::Ordered(positions) => positions[*level],
        Levels::Unordered(_) => panic!("no positions"),
    };
    design.points().map(|point| point.iter().zip(&design.factors).map(position).collect()).collect()
}

fn effects(design: &Design, outputs: &[f64]) -> Vec<Effects> {
    design.effects(&outputs.iter().copied().map(Some).collect::<Vec<_>>())
}

/// The test function of 20 inputs of Morris (1991), section 5, as it is usually written: w = 2 (x - 1/2), but for
/// inputs 3, 5 and 7 w = 2 (1.1 x / (x + 0.1) - 1/2); coefficients 20 of the first ten w, -15 of pairs of the first
/// six, -10 of triples of the first five, 5 of the quadruple of the first four. The small rest, which he drew from a
/// normal distribution, is here (-1)^i and (-1)^(i + j).
fn morris(x: &[f64]) -> f64 {
    let w: Vec<f64> = x
        .iter()
        .enumerate()
        .map(|(at, x)| match at {
            2 | 4 | 6 => 2.0 * (1.1 * x / (x + 0.1) - 0.5),
            _ => 2.0 * (x - 0.5),
        })
        .collect();
    let sign = |number: usize| if number.is_multiple_of(2) { 1.0 } else { -1.0 };
    let mut y = 0.0;
    for i in 0..20 {
        y += if i < 10 { 20.0 } else { sign(i + 1) } * w[i];
        for j in i + 1..20 {
            y += if j < 6 { -15.0 } else { sign(i + j + 2) } * w[i] * w[j];
            for l in j + 1..5 {
                y += -10.0 * w[i] * w[j] * w[l];
            }
        }
    }
    y + 5.0 * w[0] * w[1] * w[2] * w[3]
}

/// Ishigami T, Homma T (1990), with the usual a = 7 and b = 0.1, its inputs from -pi to pi.
fn ishigami(x: &[f64]) -> f64 {
    let [a, b, c] = [0, 1, 2].map(|at| (2.0 * x[at] - 1.0) * PI);
    a.sin() + 7.0 * b.sin().powi(2) + 0.1 * c.powi(4) * a.sin()
}

/// Something without a name: bends, products, a step, and an input that does nothing.
fn crooked(x: &[f64]) -> f64 {
    1e3 * x[0] * x[0] - 7.0 * x[1] * x[2] + if x[3] > 0.5 { 2.0 } else { -1e-3 } + (5.0 * x[0] + x[4]).sin()
}

fn numbers(of: &Value) -> Vec<f64> {
    of.as_array().unwrap().iter().map(|number| number.as_f64().unwrap()).collect()
}

#[test]
fn effects_are_those_of_salib() {
    type Function = fn(&[f64]) -> f64;
    let cases: [(usize, usize, usize, u64, Function); 6] = [
        (20, 4, 40, 1, morris),
        (20, 4, 4, 2, morris),
        (3, 4, 100, 3, ishigami),
        (6, 4, 15, 4, crooked),
        (6, 2, 10, 5, crooked),
        (6, 8, 10, 6, crooked),
    ];
    let designs: Vec<Design> = cases
        .iter()
        .map(|(factors, levels, ways, seed, _)| design(*factors, *levels, *ways, *seed))
        .collect();
    let asked: Vec<Value> = designs
        .iter()
        .zip(&cases)
        .map(|(design, (_, levels, _, _, function))| {
            let points = points(design);
            let outputs: Vec<f64> = points.iter().map(|point| function(point)).collect();
            json!({ "points": points, "outputs": outputs, "levels": levels })
        })
        .collect();
    let answers = python::ask("screening.py", &json!(asked));
    let mut compared = 0;
    for ((design, asked), answer) in designs.iter().zip(&asked).zip(answers.as_array().unwrap()) {
        let own = effects(design, &numbers(&asked["outputs"]));
        let scale = own.iter().map(|of| of.mu_star).fold(0.0, f64::max);
        for (name, of) in [
            ("mu", (|of: &Effects| of.mu) as fn(&Effects) -> f64),
            ("mu_star", |of| of.mu_star),
            ("sigma", |of| of.sigma),
        ] {
            for (own, want) in own.iter().zip(numbers(&answer[name])) {
                let own = of(own);
                assert!((own - want).abs() < 1e-11 * scale, "{name}: {own} against {want}");
                compared += 1;
            }
        }
    }
    assert_eq!(compared, 3 * (20 + 20 + 3 + 6 + 6 + 6));
}

/// SALib's own Ishigami function agrees with the one above, so that both sides are not wrong alike.
#[test]
fn the_function_is_that_of_salib_too() {
    let design = design(3, 4, 100, 3);
    let points = points(&design);
    let answer =
        python::ask("screening.py", &json!([{ "points": points, "function": "ishigami", "levels": 4 }]));
    for (point, want) in points.iter().zip(numbers(&answer[0]["outputs"])) {
        assert!((ishigami(point) - want).abs() < 1e-12);
    }
    let own = effects(&design, &points.iter().map(|point| ishigami(point)).collect::<Vec<_>>());
    for (own, want) in own.iter().zip(numbers(&answer[0]["mu_star"])) {
        assert!((own.mu_star - want).abs() < 1e-11);
    }
}

/// On the four levels -pi, -pi/3, pi/3, pi of each input the effects can be worked out by hand: sin^2 is 0 at the ends
/// and 3/4 at the middle ones, so a step of 2/3 moves 7 sin^2 by 21/4 one way or the other: mu* is 63/8, and mu is so
/// many times up less so many times down.
#[test]
fn the_second_input_of_ishigami_is_known_by_hand() {
    let design = design(3, 4, 400, 8);
    let own = effects(&design, &points(&design).iter().map(|point| ishigami(point)).collect::<Vec<_>>());
    assert!((own[1].mu_star - 63.0 / 8.0).abs() < 1e-12, "{:?}", own[1]);
    let (low, high) = own[1].mu_star_interval.unwrap();
    assert!((high - low).abs() < 1e-12);
    // Half of the ways go up: four standard errors.
    assert!(own[1].mu.abs() < 4.0 * 63.0 / 8.0 / 20.0);
}

#[test]
fn a_linear_functions_effects_are_its_coefficients() {
    let coefficients = [3.0, -0.25, 0.0, 1e6, -7.0, 0.1];
    for levels in [2, 4, 6] {
        let design = design(coefficients.len(), levels, 25, 9);
        let linear = |point: &Vec<f64>| point.iter().zip(coefficients).map(|(x, c)| c * x).sum::<f64>();
        let own = effects(&design, &points(&design).iter().map(linear).collect::<Vec<_>>());
        for (own, want) in own.iter().zip(coefficients) {
            // Sums about a million are right to 1e-10.
            assert!((own.mu - want).abs() < 1e-8 && (own.mu_star - want.abs()).abs() < 1e-8, "{own:?}");
            assert!(own.sigma < 1e-8, "{own:?}");
        }
    }
}

/// What Morris (1991) finds of his function with 4 ways: the first ten inputs matter and the last ten do not; 8, 9 and
/// 10 are nearly linear, and the first seven bend or act together.
#[test]
fn morris_own_function_is_screened_as_in_his_paper() {
    for (trajectories, seed) in [(4, 1), (4, 2), (15, 3), (40, 4)] {
        let design = design(20, 4, trajectories, seed);
        let own = effects(&design, &points(&design).iter().map(|point| morris(point)).collect::<Vec<_>>());
        let least = own[..10].iter().map(|of| of.mu_star).fold(f64::INFINITY, f64::min);
        let most = own[10..].iter().map(|of| of.mu_star).fold(0.0, f64::max);
        assert!(least > 1.5 * most, "{trajectories}: {least} {most}");
        for (at, of) in own[..10].iter().enumerate() {
            let ratio = of.sigma / of.mu_star;
            assert!(
                if at < 7 { ratio > 0.3 } else { ratio < 0.25 },
                "{trajectories}, input {}: {ratio}",
                at + 1
            );
        }
    }
}
