//! The agenda against a list that is searched from end to end.

use proptest::prelude::*;
use sim_core::kernel::{Agenda, Handle, Tick};

#[derive(Debug, Clone)]
enum Step {
    Schedule { ahead: Tick, phase: u8 },
    Cancel { which: usize },
    Pop,
    PopUntil { ahead: Tick },
    Clear,
}

fn step() -> impl Strategy<Value = Step> {
    // Few times and phases, so that ties are the rule.
    prop_oneof![
        60 => (0..4i64, 0..3u8).prop_map(|(ahead, phase)| Step::Schedule { ahead, phase }),
        40 => any::<usize>().prop_map(|which| Step::Cancel { which }),
        20 => Just(Step::Pop),
        10 => (0..3i64).prop_map(|ahead| Step::PopUntil { ahead }),
        1 => Just(Step::Clear),
    ]
}

#[derive(Default)]
struct Slow {
    /// Time, phase, order in which scheduled: the total order as it is documented.
    pending: Vec<(Tick, u8, usize)>,
    now: Tick,
}

impl Slow {
    fn next(&self) -> Option<(Tick, u8, usize)> {
        self.pending.iter().copied().min()
    }

    fn pop_until(&mut self, until: Tick) -> Option<(Tick, usize)> {
        let next = self.next().filter(|next| next.0 <= until)?;
        self.pending.retain(|event| *event != next);
        self.now = next.0;
        Some((next.0, next.2))
    }
}

proptest! {
    #[test]
    fn events_come_by_time_then_phase_then_order_of_scheduling(steps in prop::collection::vec(step(), 0..600)) {
        let (mut agenda, mut slow) = (Agenda::new(), Slow::default());
        let mut handles: Vec<Handle> = Vec::new();
        for step in steps {
            match step {
                Step::Schedule { ahead, phase } => {
                    let event = handles.len();
                    slow.pending.push((slow.now + ahead, phase, event));
                    handles.push(agenda.schedule(agenda.now() + ahead, phase, event));
                }
                Step::Cancel { which } if !handles.is_empty() => {
                    let event = which % handles.len();
                    let there = slow.pending.iter().any(|pending| pending.2 == event);
                    slow.pending.retain(|pending| pending.2 != event);
                    prop_assert_eq!(agenda.is_pending(handles[event]), there);
                    prop_assert_eq!(agenda.cancel(handles[event]), there.then_some(event));
                    prop_assert!(!agenda.is_pending(handles[event]));
                }
                Step::Cancel { .. } => {}
                Step::Pop => prop_assert_eq!(agenda.pop(), slow.pop_until(Tick::MAX)),
                Step::PopUntil { ahead } => {
                    let until = slow.now + ahead;
                    prop_assert_eq!(agenda.pop_until(until), slow.pop_until(until));
                }
                Step::Clear => {
                    agenda.clear();
                    slow = Slow::default();
                }
            }
            prop_assert_eq!(agenda.len(), slow.pending.len());
            prop_assert_eq!(agenda.is_empty(), slow.pending.is_empty());
            prop_assert_eq!(agenda.now(), slow.now);
            prop_assert_eq!(agenda.peek_time(), slow.next().map(|next| next.0));
        }
        while let Some(next) = slow.pop_until(Tick::MAX) {
            prop_assert_eq!(agenda.pop(), Some(next));
        }
        prop_assert_eq!(agenda.pop(), None);
    }

    #[test]
    fn cancelling_most_of_a_full_agenda_leaves_the_rest_in_order(
        times in prop::collection::vec((0..1000i64, prop::bool::weighted(0.3)), 100..700),
    ) {
        let mut agenda = Agenda::new();
        let scheduled: Vec<_> =
            times.iter().enumerate().map(|(i, &(at, _))| agenda.schedule(at, 0, i)).collect();
        let mut rest = Vec::new();
        for (i, (&(at, stays), handle)) in times.iter().zip(scheduled).enumerate() {
            if stays {
                rest.push((at, i));
            } else {
                prop_assert_eq!(agenda.cancel(handle), Some(i));
            }
        }
        rest.sort_unstable();
        prop_assert_eq!(std::iter::from_fn(|| agenda.pop()).collect::<Vec<_>>(), rest);
    }
}
