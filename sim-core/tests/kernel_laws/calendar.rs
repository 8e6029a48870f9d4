//! The working calendar against a list of ticks, each open or closed; tallies against one value a tick.

use proptest::prelude::*;
use sim_core::kernel::{CountTally, Tick, TimeTally, WorkCalendar};

/// How many ticks the lists cover.
const SPAN: usize = 120;

fn stretches(open: &[bool]) -> Vec<(Tick, Tick)> {
    let mut stretches = Vec::new();
    let mut since = None;
    for (t, open) in open.iter().copied().chain([false]).enumerate() {
        match (open, since) {
            (true, None) => since = Some(t as Tick),
            (false, Some(start)) => {
                stretches.push((start, t as Tick));
                since = None;
            }
            _ => {}
        }
    }
    stretches
}

proptest! {
    #[test]
    fn a_calendar_answers_as_walking_its_ticks_would(
        changes in prop::collection::vec(prop::bool::weighted(0.2), SPAN),
        cut in prop::collection::vec(any::<bool>(), SPAN),
        from in -5..SPAN as Tick + 5,
        to in -5..SPAN as Tick + 5,
        work in -2..SPAN as Tick,
    ) {
        let mut state = false;
        let open: Vec<bool> = changes.iter().map(|change| { state ^= change; state }).collect();
        let is_open = |t: Tick| usize::try_from(t).is_ok_and(|t| open.get(t).copied().unwrap_or(false));
        let all = stretches(&open);
        // Given in pieces that touch, it is the same calendar.
        let pieces = all.iter().flat_map(|&(start, end)| {
            let inner = (start + 1..end).filter(|&t| cut[t as usize]);
            let edges: Vec<Tick> = [start].into_iter().chain(inner).chain([end]).collect();
            edges.windows(2).map(|edge| (edge[0], edge[1])).collect::<Vec<_>>()
        });
        let calendar = WorkCalendar::new(pieces).unwrap();
        prop_assert_eq!(calendar.stretches().collect::<Vec<_>>(), all);

        prop_assert_eq!(calendar.open_between(from, to), (from..to).filter(|&t| is_open(t)).count() as Tick);
        prop_assert_eq!(calendar.is_open(from), is_open(from));
        let end = SPAN as Tick + 5;
        prop_assert_eq!(calendar.next_open(from), (from..end).find(|&t| is_open(t)));
        let close = is_open(from).then(|| (from..).find(|&t| !is_open(t)).unwrap());
        prop_assert_eq!(calendar.close_of(from), close);

        let (mut left, mut t) = (work, from);
        while left > 0 && t < end {
            left -= Tick::from(is_open(t));
            t += 1;
        }
        prop_assert_eq!(calendar.finish(from, work), (left <= 0).then_some(t));
    }

    #[test]
    fn a_time_tally_counts_as_adding_up_its_ticks_would(
        changes in prop::collection::vec((0..5i64, -9..9i64), 1..40),
        mark in -5..5i64,
        warm_up in 0..40usize,
    ) {
        let mut tally = TimeTally::new(0, 0).with_mark(mark);
        let (mut ticks, mut value, mut max) = (Vec::new(), 0, 0);
        for (place, &(wait, next)) in changes.iter().enumerate() {
            ticks.resize(ticks.len() + wait as usize, value);
            tally.set(tally_end(&changes, place), next);
            value = next;
            max = max.max(value);
            if place == warm_up {
                tally.reset(tally_end(&changes, place));
                ticks.clear();
                max = value;
            }
        }
        let now = tally_end(&changes, changes.len() - 1) + 3;
        ticks.resize(ticks.len() + 3, value);
        prop_assert_eq!(tally.integral(now), ticks.iter().map(|&value| i128::from(value)).sum::<i128>());
        prop_assert_eq!(tally.mean(now), ticks.iter().sum::<i64>() as f64 / ticks.len() as f64);
        prop_assert_eq!(tally.time_at_or_above(now), ticks.iter().filter(|&&value| value >= mark).count() as Tick);
        prop_assert_eq!((tally.value(), tally.max()), (value, max));
    }

    #[test]
    fn a_counted_tally_agrees_with_two_passes(values in prop::collection::vec(-1.0e3..1.0e3f64, 2..60)) {
        let mut tally = CountTally::default();
        values.iter().for_each(|&value| tally.add(value));
        let mean = values.iter().sum::<f64>() / values.len() as f64;
        let squares: f64 = values.iter().map(|value| (value - mean).powi(2)).sum();
        prop_assert_eq!(tally.count(), values.len() as u64);
        prop_assert!((tally.mean() - mean).abs() < 1e-9);
        prop_assert!((tally.sd() - (squares / (values.len() - 1) as f64).sqrt()).abs() < 1e-9);
        prop_assert_eq!(tally.min(), values.iter().copied().fold(f64::INFINITY, f64::min));
        prop_assert_eq!(tally.max(), values.iter().copied().fold(f64::NEG_INFINITY, f64::max));
    }
}

/// The tick of change `place`: the waits up to it.
fn tally_end(changes: &[(i64, i64)], place: usize) -> Tick {
    changes[..=place].iter().map(|change| change.0).sum()
}
