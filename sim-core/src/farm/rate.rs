//! Work rates: how many hectares an hour, and how much of the time goes into supply and cartage.

/// Work rate in ha/h of a width at a speed: `width_m x speed_km_h x efficiency / 10`.
///
/// `efficiency` is the field efficiency, 0 to 1: turning, overlap and, where the farm gives no tanks
/// and loads, filling and emptying.
///
/// ```
/// use sim_core::farm::rate::work_rate_ha_h;
/// assert!((work_rate_ha_h(6.0, 10.0, 0.7) - 4.2).abs() < 1e-12);
/// ```
#[must_use]
pub fn work_rate_ha_h(width_m: f64, speed_km_h: f64, efficiency: f64) -> f64 {
    width_m * speed_km_h * efficiency / 10.0
}

/// A tank or hopper that must be filled again and again.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Hold {
    /// What it holds in kg.
    pub hold_kg: f64,
    /// Minutes away from work for each filling, the way included.
    pub away_min: f64,
}

/// Trailers that carry a crop away while it is cut or picked up.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cartage {
    /// What one trailer carries in t.
    pub load_t: f64,
    /// Minutes of a trailer's round: tipping, and the way there and back.
    pub round_min: f64,
    /// How many trailers.
    pub trailers: f64,
}

/// The limits on an outfit's work in one field.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Limits {
    /// ha/h of each machine that works the ground, added.
    pub ground_ha_h: Option<f64>,
    /// t/h that the machines take in, and t/ha that the field yields.
    pub throughput: Option<(f64, f64)>,
    /// t/ha to carry away, and the trailers that do it.
    pub cartage: Option<(f64, Cartage)>,
    /// kg/ha to bring, and the hold it is brought in.
    pub hold: Option<(f64, Hold)>,
}

/// A work rate and what it is made of.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WorkRate {
    /// ha/h while nothing is waited for.
    pub own_ha_h: f64,
    /// ha/h with waits for supply and cartage.
    pub with_supply_ha_h: f64,
}

impl Limits {
    /// The work rate within these limits, or `None` if nothing says how fast the work goes.
    ///
    /// The outfit's own rate is the lesser of the ground rate and throughput over yield. Cartage: with
    /// `n` trailers of `load_t` and a machine that fills one in `f` hours, a trailer's round takes `f`
    /// and its tipping and way, so `n * load_t` go off in that time at most. Where nothing but trailers
    /// works (drawing in bales), they set the own rate. A hold of `hold_kg` interrupts the work for
    /// `away_min` after every `hold_kg / kg_ha` hectares. Both are averages over a field, not events.
    #[must_use]
    pub fn work_rate(&self) -> Option<WorkRate> {
        let taken_in = self.throughput.filter(|(_, t_ha)| *t_ha > 0.0).map(|(t_h, t_ha)| t_h / t_ha);
        let own = match (self.ground_ha_h, taken_in) {
            (Some(ground), Some(taken)) => Some(ground.min(taken)),
            (one, other) => one.or(other),
        };
        let carted = self.cartage.filter(|(t_ha, _)| *t_ha > 0.0).map(|(t_ha, cartage)| {
            let fill_h = own.map_or(0.0, |ha_h| cartage.load_t / (ha_h * t_ha));
            cartage.trailers * cartage.load_t / (cartage.round_min / 60.0 + fill_h) / t_ha
        });
        let own_ha_h = own.or(carted)?;
        let mut with_supply_ha_h = carted.map_or(own_ha_h, |limit| own_ha_h.min(limit));
        if let Some((kg_ha, hold)) = self.hold.filter(|(kg_ha, _)| *kg_ha > 0.0) {
            let away_h_ha = hold.away_min / 60.0 * kg_ha / hold.hold_kg;
            with_supply_ha_h = 1.0 / (1.0 / with_supply_ha_h + away_h_ha);
        }
        Some(WorkRate { own_ha_h, with_supply_ha_h })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_lesser_of_ground_and_throughput_counts() {
        let limits = Limits { ground_ha_h: Some(2.0), throughput: Some((15.0, 10.0)), ..Limits::default() };
        assert_eq!(limits.work_rate(), Some(WorkRate { own_ha_h: 1.5, with_supply_ha_h: 1.5 }));
    }

    #[test]
    fn a_far_field_waits_for_trailers() {
        let cartage = Cartage { load_t: 10.0, round_min: 60.0, trailers: 1.0 };
        let limits = Limits { ground_ha_h: Some(2.0), cartage: Some((10.0, cartage)), ..Limits::default() };
        let rate = limits.work_rate().unwrap();
        // Half an hour to fill and an hour away: 10 t in 1.5 h are 6.67 t/h or 0.667 ha/h.
        assert!((rate.with_supply_ha_h - 10.0 / 1.5 / 10.0).abs() < 1e-12);
        assert_eq!(rate.own_ha_h, 2.0);
    }

    #[test]
    fn enough_trailers_do_not_hold_the_combine_up() {
        let cartage = Cartage { load_t: 10.0, round_min: 30.0, trailers: 2.0 };
        let limits = Limits { ground_ha_h: Some(2.0), cartage: Some((10.0, cartage)), ..Limits::default() };
        assert_eq!(limits.work_rate().unwrap().with_supply_ha_h, 2.0);
    }

    #[test]
    fn filling_takes_its_share() {
        let hold = Hold { hold_kg: 2000.0, away_min: 20.0 };
        let limits = Limits { ground_ha_h: Some(10.0), hold: Some((200.0, hold)), ..Limits::default() };
        // 10 ha a tank: an hour's work, then 20 minutes.
        assert!((limits.work_rate().unwrap().with_supply_ha_h - 7.5).abs() < 1e-12);
    }

    #[test]
    fn nothing_known_is_no_rate() {
        assert_eq!(Limits::default().work_rate(), None);
    }
}
