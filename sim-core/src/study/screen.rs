//! Screening of many factors by elementary effects: Morris MD (1991), Factorial sampling plans for preliminary
//! computational experiments, Technometrics 33:161-174; `mu_star` after Campolongo F, Cariboni J, Saltelli A (2007), An
//! effective screening design for sensitivity analysis of large models, Environmental Modelling & Software
//! 22:1509-1518.
//!
//! Here are the points at which something is to be looked at, and what is made of what was seen there. What the factors
//! are, and what is looked at, is not known here.

use crate::kernel::draw::{Stream, name_hash};

/// How often trajectories are drawn anew for an interval.
const DRAWN_ANEW: u64 = 1000;

/// Something that is varied.
#[derive(Debug, Clone, PartialEq)]
pub struct Factor {
    /// Its name: its draws are addressed by it, so that another factor changes none of them.
    pub name: String,
    /// What it can be.
    pub levels: Levels,
}

/// The levels of a factor, numbered from 0.
#[derive(Debug, Clone, PartialEq)]
pub enum Levels {
    /// Where each level lies in the factor's range, 0 its beginning and 1 its end, rising. Of 4 levels a step goes 2 up
    /// or down, of any even number half of it; an effect is the change over the step divided by the step's length.
    Ordered(Vec<f64>),
    /// So many levels without an order. A step goes from any to any other; an effect is the change itself.
    Unordered(usize),
}

impl Levels {
    /// An even number of levels that divide the range evenly, as Morris has them.
    ///
    /// ```
    /// use sim_core::study::screen::Levels;
    /// assert_eq!(Levels::even(2), Levels::Ordered(vec![0.0, 1.0]));
    /// ```
    #[must_use]
    pub fn even(count: usize) -> Self {
        Self::Ordered((0..count).map(|level| level as f64 / (count.max(2) - 1) as f64).collect())
    }

    fn count(&self) -> usize {
        match self {
            Self::Ordered(positions) => positions.len(),
            Self::Unordered(count) => *count,
        }
    }

    /// The mean length of a step in parts of the range; 1 where there is no order.
    ///
    /// ```
    /// use sim_core::study::screen::Levels;
    /// assert!((Levels::even(4).mean_step() - 2.0 / 3.0).abs() < 1e-15);
    /// ```
    #[must_use]
    pub fn mean_step(&self) -> f64 {
        let half = self.count() / 2;
        match self {
            Self::Ordered(_) => {
                (0..half).map(|low| self.length(low, low + half)).sum::<f64>() / half.max(1) as f64
            }
            Self::Unordered(_) => 1.0,
        }
    }

    /// The levels before and after a step, drawn from two uniforms.
    fn step(&self, first: f64, second: f64) -> (usize, usize) {
        let count = self.count();
        let below = |uniform: f64, count: usize| ((uniform * count as f64) as usize).min(count - 1);
        match self {
            Self::Ordered(_) => {
                let (low, half) = (below(first, count / 2), count / 2);
                if second < 0.5 { (low, low + half) } else { (low + half, low) }
            }
            Self::Unordered(_) => {
                let (from, other) = (below(first, count), below(second, count - 1));
                (from, if other < from { other } else { other + 1 })
            }
        }
    }

    /// The length of a step in parts of the range, less than 0 downwards; 1 where there is no order.
    fn length(&self, from: usize, to: usize) -> f64 {
        match self {
            Self::Ordered(positions) => positions[to] - positions[from],
            Self::Unordered(_) => 1.0,
        }
    }
}

/// A way through the factors' levels: from a first point on every factor is moved once.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Trajectory {
    /// For each point the level of each factor; one more point than factors.
    pub points: Vec<Vec<usize>>,
    /// The factor that is moved from each point to the next.
    pub moved: Vec<usize>,
}

/// The points at which to look.
///
/// ```
/// use sim_core::study::screen::{Design, Factor, Levels};
/// let factor = |name: &str| Factor { name: name.into(), levels: Levels::even(4) };
/// let design = Design::draw(vec![factor("width"), factor("speed")], 10, 1);
/// // 3 for the width's whole range, 5 less for the speed's, whatever the other is.
/// let seen = design.points().map(|at| Some(3.0 * at[0] as f64 / 3.0 - 5.0 * at[1] as f64 / 3.0));
/// let effects = design.effects(&seen.collect::<Vec<_>>());
/// assert!((effects[0].mu - 3.0).abs() < 1e-12 && effects[0].sigma < 1e-12);
/// assert!((effects[1].mu + 5.0).abs() < 1e-12 && (effects[1].mu_star - 5.0).abs() < 1e-12);
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct Design {
    /// What is varied.
    pub factors: Vec<Factor>,
    /// The ways.
    pub trajectories: Vec<Trajectory>,
    /// The seed of every draw.
    pub seed: u64,
}

/// What moving one factor does to what is looked at, over all trajectories in which it could be seen.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Effects {
    /// In how many trajectories it was seen.
    pub count: usize,
    /// Mean effect.
    pub mu: f64,
    /// Mean size of the effect: Campolongo, Cariboni and Saltelli (2007).
    pub mu_star: f64,
    /// The 95 % interval of `mu_star`, from trajectories drawn anew (2.5 % and 97.5 % of 1000 means); `None` from fewer
    /// than two.
    pub mu_star_interval: Option<(f64, f64)>,
    /// Standard deviation of the effect between trajectories, with `count - 1`: 0 where the factor does the same
    /// everywhere; 0 from fewer than two.
    pub sigma: f64,
}

impl Design {
    /// So many ways through the levels of factors, each of which has at least two (of ordered ones an even number).
    ///
    /// Every level of a factor is as likely as another to be where a way comes by before or after its move; the factors
    /// are moved in an order drawn for each way.
    ///
    /// # Panics
    ///
    /// If a factor has fewer than two levels, or an odd number of ordered ones.
    #[must_use]
    pub fn draw(factors: Vec<Factor>, trajectories: usize, seed: u64) -> Self {
        for factor in &factors {
            let (count, ordered) = (factor.levels.count(), matches!(factor.levels, Levels::Ordered(_)));
            assert!(count >= 2 && !(ordered && count % 2 == 1), "{count} levels of {}", factor.name);
        }
        let trajectory = |number: usize| {
            let draws = |factor: &Factor| {
                let purpose = name_hash(&format!("screening: {}", factor.name));
                let stream = Stream::new(seed, number as u64, purpose);
                (factor.levels.step(stream.uniform(0), stream.uniform(1)), stream.uniform(2))
            };
            let drawn: Vec<_> = factors.iter().map(draws).collect();
            let mut moved: Vec<usize> = (0..factors.len()).collect();
            moved.sort_by(|one, other| drawn[*one].1.total_cmp(&drawn[*other].1));
            let mut point: Vec<usize> = drawn.iter().map(|((from, _), _)| *from).collect();
            let mut points = vec![point.clone()];
            for factor in &moved {
                point[*factor] = drawn[*factor].0.1;
                points.push(point.clone());
            }
            Trajectory { points, moved }
        };
        let trajectories = (0..trajectories).map(trajectory).collect();
        Self { factors, trajectories, seed }
    }

    /// Every point, trajectory after trajectory: the level of each factor.
    pub fn points(&self) -> impl Iterator<Item = &[usize]> {
        self.trajectories.iter().flat_map(|of| of.points.iter().map(Vec::as_slice))
    }

    /// What each factor does, from what was seen at each of the [`points`](Self::points); `None` where there was
    /// nothing to be seen.
    ///
    /// # Panics
    ///
    /// If `seen` is not of as many points.
    #[must_use]
    pub fn effects(&self, seen: &[Option<f64>]) -> Vec<Effects> {
        let mut effects: Vec<Vec<f64>> = vec![Vec::new(); self.factors.len()];
        let mut first = 0;
        for trajectory in &self.trajectories {
            let seen = &seen[first..first + trajectory.points.len()];
            first += trajectory.points.len();
            for (at, factor) in trajectory.moved.iter().enumerate() {
                let (before, after) = (&trajectory.points[at][*factor], &trajectory.points[at + 1][*factor]);
                if let (Some(low), Some(high)) = (seen[at], seen[at + 1]) {
                    let length = self.factors[*factor].levels.length(*before, *after);
                    effects[*factor].push((high - low) / length);
                }
            }
        }
        effects.iter().zip(&self.factors).map(|(of, factor)| summary(of, self.seed, &factor.name)).collect()
    }
}

fn summary(effects: &[f64], seed: u64, name: &str) -> Effects {
    let count = effects.len();
    let mean = |sum: f64| if count == 0 { 0.0 } else { sum / count as f64 };
    let mu = mean(effects.iter().sum());
    let squares: f64 = effects.iter().map(|effect| (effect - mu) * (effect - mu)).sum();
    let sizes: Vec<f64> = effects.iter().map(|effect| effect.abs()).collect();
    Effects {
        count,
        mu,
        mu_star: mean(sizes.iter().sum()),
        mu_star_interval: interval(&sizes, seed, name),
        sigma: if count < 2 { 0.0 } else { libm::sqrt(squares / (count - 1) as f64) },
    }
}

/// From so many of the sizes drawn anew, with repeats.
fn interval(sizes: &[f64], seed: u64, name: &str) -> Option<(f64, f64)> {
    if sizes.len() < 2 {
        return None;
    }
    let purpose = name_hash(&format!("screening, drawn anew: {name}"));
    let mean = |number: u64| {
        let draws = Stream::new(seed, number, purpose);
        let drawn = (0..sizes.len()).map(|index| sizes[draws.below(index as u64, sizes.len())]);
        drawn.sum::<f64>() / sizes.len() as f64
    };
    // In thousandths: 25 and 975 of 1000.
    let mut means: Vec<f64> = (0..DRAWN_ANEW).map(mean).collect();
    means.sort_by(f64::total_cmp);
    let at = |thousandth: usize| means.get((means.len() * thousandth).div_ceil(1000).max(1) - 1).copied();
    Some((at(25)?, at(975)?))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn factors(levels: &[Levels]) -> Vec<Factor> {
        let named =
            |(at, levels): (usize, &Levels)| Factor { name: format!("x{at}"), levels: levels.clone() };
        levels.iter().enumerate().map(named).collect()
    }

    fn level() -> impl Strategy<Value = Levels> {
        prop_oneof![
            (1usize..4).prop_map(|half| Levels::even(2 * half)),
            (2usize..6).prop_map(Levels::Unordered),
        ]
    }

    proptest! {
        /// Every factor is moved once, by a whole step, and nothing else moves with it.
        #[test]
        fn one_factor_moves_at_a_time(
            levels in prop::collection::vec(level(), 1..9),
            trajectories in 1usize..6,
            seed in any::<u64>(),
        ) {
            let design = Design::draw(factors(&levels), trajectories, seed);
            prop_assert_eq!(design.points().count(), trajectories * (levels.len() + 1));
            for trajectory in &design.trajectories {
                let mut moved = trajectory.moved.clone();
                for (pair, factor) in trajectory.points.windows(2).zip(&moved) {
                    for (at, of) in levels.iter().enumerate() {
                        let (from, to) = (pair[0][at], pair[1][at]);
                        prop_assert!(from < of.count() && to < of.count());
                        match of {
                            _ if at != *factor => prop_assert_eq!(from, to),
                            Levels::Ordered(_) => prop_assert_eq!(from.abs_diff(to), of.count() / 2),
                            Levels::Unordered(_) => prop_assert_ne!(from, to),
                        }
                    }
                }
                moved.sort_unstable();
                prop_assert_eq!(moved, (0..levels.len()).collect::<Vec<_>>());
            }
        }

        /// Another factor leaves the others' levels and the order among them as they were.
        #[test]
        fn a_factor_more_changes_nothing_of_the_others(count in 1usize..7, seed in any::<u64>()) {
            let few = Design::draw(factors(&vec![Levels::even(4); count]), 3, seed);
            let more = Design::draw(factors(&vec![Levels::even(4); count + 1]), 3, seed);
            for (few, more) in few.trajectories.iter().zip(&more.trajectories) {
                prop_assert_eq!(&few.points[0][..], &more.points[0][..count]);
                let among: Vec<usize> = more.moved.iter().copied().filter(|at| *at < count).collect();
                prop_assert_eq!(&few.moved, &among);
            }
        }
    }

    /// Of 4000 ways each of four levels is come by in a quarter, before the move and after, and each goes up in half:
    /// bounds of four standard errors.
    #[test]
    fn every_level_is_as_likely_as_another() {
        let design = Design::draw(factors(&[Levels::even(4), Levels::Unordered(3)]), 4000, 5);
        let share = |of: &dyn Fn(&Trajectory) -> bool| {
            design.trajectories.iter().filter(|way| of(way)).count() as f64 / 4000.0
        };
        let near = |share: f64, p: f64| (share - p).abs() < 4.0 * libm::sqrt(p * (1.0 - p) / 4000.0);
        for level in 0..4 {
            assert!(near(share(&|way| way.points[0][0] == level), 0.25));
            assert!(near(share(&|way| way.points[2][0] == level), 0.25));
        }
        for (from, to) in [(0, 1), (0, 2), (1, 0), (1, 2), (2, 0), (2, 1)] {
            assert!(near(share(&|way| (way.points[0][1], way.points[2][1]) == (from, to)), 1.0 / 6.0));
        }
        assert!(near(share(&|way| way.points[0][0] < way.points[2][0]), 0.5));
        assert!(near(share(&|way| way.moved == [0, 1]), 0.5));
    }

    #[test]
    fn what_cannot_be_seen_does_not_count() {
        let design = Design::draw(factors(&[Levels::even(2), Levels::even(2)]), 4, 1);
        let nothing = design.effects(&[None; 12]);
        assert_eq!((nothing[0].count, nothing[0].mu, nothing[0].mu_star_interval), (0, 0.0, None));
        let mut seen: Vec<Option<f64>> = design.points().map(|at| Some(at[0] as f64)).collect();
        seen[0] = None;
        let effects = design.effects(&seen);
        assert_eq!(effects[0].count + effects[1].count, 7);
        assert_eq!((effects[0].mu, effects[1].mu_star), (1.0, 0.0));
    }

    /// A step of whole numbers that were rounded is divided by what it came to.
    #[test]
    fn an_effect_is_over_the_length_of_its_own_step() {
        let levels = Levels::Ordered(vec![0.0, 0.5, 0.5, 1.0]);
        let design = Design::draw(factors(&[levels]), 50, 2);
        let value = [0.0, 0.5, 0.5, 1.0];
        let effects = design.effects(&design.points().map(|at| Some(7.0 * value[at[0]])).collect::<Vec<_>>());
        assert_eq!(
            (effects[0].mu, effects[0].sigma, effects[0].mu_star_interval),
            (7.0, 0.0, Some((7.0, 7.0)))
        );
    }
}
