//! How good chances were once it is known what happened: calibration slope, Brier score, a table by tenths and a plot.
//! What was predicted, and how, is not here.

use std::collections::BTreeMap;
use std::fmt::Write as _;

/// Kinds of prediction of one case.
pub const MODELS: usize = 5;

/// Something that happened or not, and the chance that each model gave it without knowing its year.
#[derive(Debug, Clone, Copy)]
pub struct Case {
    /// The year: cases of one year are not independent.
    pub year: i16,
    /// Whether it happened.
    pub happened: bool,
    /// The chances, 0 to 1.
    pub predicted: [f64; MODELS],
}

/// Chances are clipped to this and its complement before a logit is taken: a record of some 40 years says nothing of
/// rarer things, and a chance of 0 has no logit.
pub const CLIP: f64 = 0.01;

/// Logistic regression of what happened on the logit of what was predicted; 1 and 0 are perfect.
#[derive(Debug, Clone, Copy)]
pub struct Calibration {
    /// Below 1: the predictions are too sure of themselves; above: not sure enough.
    pub slope: f64,
    /// Standard error of the slope, years being clusters.
    pub standard_error: f64,
    /// The logit of the observed share where the prediction is one half.
    pub intercept: f64,
}

impl Calibration {
    /// Of one model's predictions.
    pub fn of(cases: &[Case], model: usize) -> Self {
        let x = |case: &Case| {
            let p = case.predicted[model].clamp(CLIP, 1.0 - CLIP);
            (p / (1.0 - p)).ln()
        };
        let chance = |at: [f64; 2], x: f64| 1.0 / (1.0 + (-at[0] - at[1] * x).exp());
        let y = |case: &Case| f64::from(u8::from(case.happened));
        // Of what was predicted many times over only the logit and the share matter.
        let mut pooled: BTreeMap<u64, [f64; 3]> = BTreeMap::new();
        for case in cases {
            let sums = pooled.entry(case.predicted[model].to_bits()).or_insert_with(|| [x(case), 0.0, 0.0]);
            sums[1] += 1.0;
            sums[2] += y(case);
        }
        let loss = |at: [f64; 2]| -> f64 {
            let of = |[x, cases, happened]: &[f64; 3]| {
                let logit = at[0] + at[1] * x;
                cases * (logit.max(0.0) + (-logit.abs()).exp().ln_1p()) - happened * logit
            };
            pooled.values().map(of).sum()
        };
        let (mut at, mut here) = ([0.0, 1.0], loss([0.0, 1.0]));
        let mut inverse = [[0.0; 2]; 2];
        for _ in 0..50 {
            let (mut gradient, mut bread) = ([0.0; 2], [0.0; 3]);
            for [x, cases, happened] in pooled.values() {
                let p = chance(at, *x);
                let (off, weight) = (happened - cases * p, cases * p * (1.0 - p));
                gradient = [gradient[0] + off, gradient[1] + off * x];
                bread = [bread[0] + weight, bread[1] + weight * x, bread[2] + weight * x * x];
            }
            let determinant = bread[0] * bread[2] - bread[1] * bread[1];
            inverse = [
                [bread[2] / determinant, -bread[1] / determinant],
                [-bread[1] / determinant, bread[0] / determinant],
            ];
            // Newton's step, halved until it gains.
            let mut step = inverse.map(|row| row[0] * gradient[0] + row[1] * gradient[1]);
            let size = step[0].abs() + step[1].abs();
            let mut next = [at[0] + step[0], at[1] + step[1]];
            for _ in 0..40 {
                if loss(next) <= here {
                    break;
                }
                step = step.map(|step| step / 2.0);
                next = [at[0] + step[0], at[1] + step[1]];
            }
            if size < 1e-9 {
                break;
            }
            (at, here) = (next, loss(next));
        }
        // Sandwich: the sums of the scores of each year, as if each year were one observation.
        let mut years: BTreeMap<i16, [f64; 2]> = BTreeMap::new();
        for case in cases {
            let x = x(case);
            let off = y(case) - chance(at, x);
            let sums = years.entry(case.year).or_default();
            sums[0] += off;
            sums[1] += off * x;
        }
        let clusters = years.len() as f64;
        let variance: f64 =
            years.values().map(|sums| (inverse[1][0] * sums[0] + inverse[1][1] * sums[1]).powi(2)).sum();
        Self {
            slope: at[1],
            standard_error: (variance * clusters / (clusters - 1.0)).sqrt(),
            intercept: at[0],
        }
    }
}

/// Brier score of a model less that of another: mean over the years and its standard error; below 0 the first is better.
#[derive(Debug, Clone, Copy)]
pub struct Gain {
    /// Mean of the years' differences.
    pub mean: f64,
    /// Its standard error from the differences between years.
    pub standard_error: f64,
}

fn square(case: &Case, model: usize) -> f64 {
    (case.predicted[model] - f64::from(u8::from(case.happened))).powi(2)
}

/// The Brier score: mean squared difference of chance and what happened.
pub fn brier(cases: &[Case], model: usize) -> f64 {
    cases.iter().map(|case| square(case, model)).sum::<f64>() / cases.len() as f64
}

/// Compares two models year by year.
pub fn gain(cases: &[Case], model: usize, other: usize) -> Gain {
    let mut years: BTreeMap<i16, (f64, f64)> = BTreeMap::new();
    for case in cases {
        let year = years.entry(case.year).or_default();
        year.0 += square(case, model) - square(case, other);
        year.1 += 1.0;
    }
    let differences: Vec<f64> = years.values().map(|(sum, cases)| sum / cases).collect();
    let n = differences.len() as f64;
    let mean = differences.iter().sum::<f64>() / n;
    let squares: f64 = differences.iter().map(|difference| (difference - mean).powi(2)).sum();
    Gain { mean, standard_error: (squares / (n - 1.0) / n).sqrt() }
}

/// The cases whose chance lies in one tenth of 0 to 1.
#[derive(Debug, Clone, Copy, Default)]
pub struct Tenth {
    /// How many.
    pub cases: u32,
    /// Mean chance; `NAN` without cases.
    pub predicted: f64,
    /// Share that happened.
    pub observed: f64,
}

/// The calibration table of a model.
pub fn tenths(cases: &[Case], model: usize) -> [Tenth; 10] {
    let mut tenths = [Tenth::default(); 10];
    for case in cases {
        let tenth = &mut tenths[((case.predicted[model] * 10.0) as usize).min(9)];
        tenth.cases += 1;
        tenth.predicted += case.predicted[model];
        tenth.observed += f64::from(u8::from(case.happened));
    }
    for tenth in &mut tenths {
        tenth.predicted /= f64::from(tenth.cases);
        tenth.observed /= f64::from(tenth.cases);
    }
    tenths
}

/// Observed share over predicted chance, a panel for each set of cases, a line for each model.
pub fn svg(panels: &[(&str, &[Case])], models: [&str; MODELS]) -> String {
    const SIDE: f64 = 360.0;
    const COLOURS: [&str; MODELS] = ["#1b6e3c", "#1f5fa8", "#b06a00", "#a3262a", "#666666"];
    let width = 60.0 + panels.len() as f64 * (SIDE + 60.0);
    let mut out = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{width}\" height=\"{}\" font-family=\"sans-serif\" \
         font-size=\"12\">\n<rect width=\"100%\" height=\"100%\" fill=\"white\"/>\n",
        SIDE + 110.0
    );
    for (index, (name, cases)) in panels.iter().enumerate() {
        let left = 60.0 + index as f64 * (SIDE + 60.0);
        let x = |p: f64| left + SIDE * p;
        let y = |p: f64| 40.0 + SIDE * (1.0 - p);
        let _ = writeln!(out, "<text x=\"{left}\" y=\"24\" font-size=\"14\">{name}</text>");
        let _ = writeln!(
            out,
            "<rect x=\"{left}\" y=\"40\" width=\"{SIDE}\" height=\"{SIDE}\" fill=\"none\" stroke=\"#999\"/>"
        );
        let _ = writeln!(
            out,
            "<line x1=\"{}\" y1=\"{}\" x2=\"{}\" y2=\"{}\" stroke=\"#bbb\" stroke-dasharray=\"4 4\"/>",
            x(0.0),
            y(0.0),
            x(1.0),
            y(1.0)
        );
        for tick in [0.0, 0.2, 0.4, 0.6, 0.8, 1.0] {
            let _ = writeln!(
                out,
                "<text x=\"{}\" y=\"{}\" text-anchor=\"middle\">{tick:.1}</text><text x=\"{}\" y=\"{}\" \
                 text-anchor=\"end\">{tick:.1}</text>",
                x(tick),
                y(0.0) + 16.0,
                left - 6.0,
                y(tick) + 4.0
            );
        }
        let _ = writeln!(
            out,
            "<text x=\"{}\" y=\"{}\" text-anchor=\"middle\">predicted chance of being late; up: observed share</text>",
            x(0.5),
            y(0.0) + 34.0
        );
        for (model, colour) in COLOURS.iter().enumerate() {
            let points: Vec<String> = tenths(cases, model)
                .iter()
                .filter(|tenth| tenth.cases > 0)
                .map(|tenth| format!("{:.1},{:.1}", x(tenth.predicted), y(tenth.observed)))
                .collect();
            let _ = writeln!(
                out,
                "<polyline points=\"{}\" fill=\"none\" stroke=\"{colour}\" stroke-width=\"2\"/>",
                points.join(" ")
            );
        }
    }
    for (model, colour) in COLOURS.iter().enumerate() {
        let left = 60.0 + model as f64 * 155.0;
        let _ = writeln!(
            out,
            "<text x=\"{left}\" y=\"{}\" fill=\"{colour}\">{}</text>",
            SIDE + 96.0,
            models[model]
        );
    }
    out.push_str("</svg>\n");
    out
}
