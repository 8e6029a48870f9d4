//! The fit's figures against the exact laws of days that are all alike.

use sim_core::study::exact::AlikeDays;
use sim_core::weather::fit::{Block, Law, Series, count_variance, fit_spells};

/// Against the closed form of days alike; the bins lose some thousandths of the spread's own part.
#[test]
fn days_alike_have_the_variance_of_the_closed_form() {
    for (p, rho, phi, spread_days) in [
        (0.6, 0.0, 0.0, 1.0),
        (0.35, 0.7, 0.0, 20.0),
        (0.5, 0.0, 0.1, f64::INFINITY),
        (0.6, 0.4, 0.05, f64::INFINITY),
        (0.35, 0.4, 0.37, 15.5),
        (0.2, 0.3, 0.5, 5.0),
    ] {
        let law = Law { rho, phi, spread_days };
        let want = AlikeDays { p, rho, phi }.count_variance(law.kappa(), 60);
        let got = count_variance(&[p; 60], &[law; 60]);
        let most = if phi > 0.0 { 3e-3 } else { 1e-12 };
        assert!((got / want - 1.0).abs() < most, "{law:?} p {p}: {got} {want}");
    }
}

/// What a fit says that its law has at each lag is what days alike have. The fit's chances stand in cells of 0.025: the
/// share of the sky that two spells have in common is off by some thousandths.
#[test]
fn modelled_correlations_are_those_of_days_alike() {
    // Spells of nine days, two in three of them good, with a bad day in each good one and a good one in each bad.
    let good = |spell: u32| (spell * spell + spell).wrapping_mul(2_654_435_761) >> 30 > 0;
    let verdicts: Vec<Option<bool>> = (0..80 * 60).map(|day| Some(good(day / 9) != (day % 9 == 4))).collect();
    let share =
        verdicts.iter().filter(|verdict| **verdict == Some(true)).count() as f64 / verdicts.len() as f64;
    // The middle of a cell, so that the cell says p exactly.
    let p = ((share - 0.1) / 0.025).floor() * 0.025 + 0.1125;
    let chances = vec![p; verdicts.len()];
    let fit = fit_spells(&Block::of_seasons(60, 80), &[Series::new(&verdicts, &chances).unwrap()]).unwrap();
    assert!(fit.law.phi > 0.01, "{:?}", fit.law);
    let alike = AlikeDays { p, rho: fit.law.rho, phi: fit.law.phi };
    for lag in [1, 2, 7, 25] {
        let want = alike.lag_correlation(fit.law.kappa(), lag);
        let got = fit.modelled[lag as usize - 1];
        assert!((got - want).abs() < 2e-3, "lag {lag}: {got} {want}");
    }
}
