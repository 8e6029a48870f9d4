//! Levels against two lists and the rule as it is worded.

use proptest::prelude::*;
use sim_core::kernel::{Level, LevelError, LevelTicket, Moved};

const CAPACITY: i64 = 10;

#[derive(Debug, Clone)]
enum Step {
    Put(i64),
    Take(i64),
    Withdraw(usize),
}

fn step() -> impl Strategy<Value = Step> {
    prop_oneof![
        4 => (1..=CAPACITY).prop_map(Step::Put),
        4 => (1..=CAPACITY).prop_map(Step::Take),
        1 => any::<usize>().prop_map(Step::Withdraw),
    ]
}

proptest! {
    #[test]
    fn a_level_serves_as_its_rule_says(start in 0..=CAPACITY, steps in prop::collection::vec(step(), 0..80)) {
        let (mut level, mut moved) = (Level::new(CAPACITY, start).unwrap(), Vec::new());
        let mut tickets: Vec<LevelTicket> = Vec::new();
        let (mut amount, mut puts, mut takes) = (start, Vec::<(usize, i64)>::new(), Vec::<(usize, i64)>::new());
        for step in steps {
            moved.clear();
            let tag = tickets.len();
            match step {
                Step::Put(size) => {
                    puts.push((tag, size));
                    tickets.push(level.put(tag, size, &mut moved).unwrap());
                }
                Step::Take(size) => {
                    takes.push((tag, size));
                    tickets.push(level.take(tag, size, &mut moved).unwrap());
                }
                Step::Withdraw(which) if !tickets.is_empty() => {
                    let which = which % tickets.len();
                    let there = puts.iter().chain(&takes).any(|waiting| waiting.0 == which);
                    puts.retain(|waiting| waiting.0 != which);
                    takes.retain(|waiting| waiting.0 != which);
                    let done = level.withdraw(tickets[which], &mut moved);
                    prop_assert_eq!(done, if there { Ok(()) } else { Err(LevelError::NotWaiting) });
                }
                Step::Withdraw(_) => {}
            }
            let mut expected = Vec::new();
            loop {
                if takes.first().is_some_and(|take| take.1 <= amount) {
                    let (tag, size) = takes.remove(0);
                    amount -= size;
                    expected.push(Moved::Taken { ticket: tickets[tag], tag });
                } else if puts.first().is_some_and(|put| amount + put.1 <= CAPACITY) {
                    let (tag, size) = puts.remove(0);
                    amount += size;
                    expected.push(Moved::Put { ticket: tickets[tag], tag });
                } else {
                    break;
                }
            }
            prop_assert_eq!(&moved, &expected);
            prop_assert_eq!(level.amount(), amount);
            prop_assert!((0..=CAPACITY).contains(&level.amount()));
            prop_assert_eq!(level.waiting(), (puts.len(), takes.len()));
        }
    }
}
