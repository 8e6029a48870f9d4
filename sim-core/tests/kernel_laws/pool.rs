//! Pools against lists that are walked anew after every grant, by the rules as they are worded.

use proptest::prelude::*;
use sim_core::kernel::{Change, PoolError, PoolId, Pools, Shrink, Ticket};

const POOLS: usize = 3;

#[derive(Debug, Clone)]
enum Step {
    Request { priority: i32, preempts: bool, needs: [u32; POOLS] },
    Release(usize),
    Withdraw(usize),
    Capacity { pool: usize, capacity: u32, preempt: bool },
    Clear,
}

fn step() -> impl Strategy<Value = Step> {
    let amount = prop_oneof![3 => Just(0u32), 3 => 1..3u32, 1 => 1..5u32];
    let needs = prop::array::uniform3(amount).prop_filter("asks for something", |needs| needs != &[0; POOLS]);
    prop_oneof![
        40 => (0..4i32, prop::bool::weighted(0.3), needs)
            .prop_map(|(priority, preempts, needs)| Step::Request { priority, preempts, needs }),
        30 => any::<usize>().prop_map(Step::Release),
        6 => any::<usize>().prop_map(Step::Withdraw),
        6 => (0..POOLS, 0..6u32, any::<bool>())
            .prop_map(|(pool, capacity, preempt)| Step::Capacity { pool, capacity, preempt }),
        1 => Just(Step::Clear),
    ]
}

#[derive(Debug, Clone, Copy, PartialEq)]
enum State {
    Waiting,
    /// Which grant it was.
    Held(usize),
    Gone,
}

#[derive(Debug, Clone)]
struct Request {
    priority: i32,
    preempts: bool,
    needs: [i64; POOLS],
    state: State,
}

#[derive(Default)]
struct Slow {
    requests: Vec<Request>,
    capacity: [i64; POOLS],
    grants: usize,
    /// What happened: whether granted, and to which request.
    log: Vec<(bool, usize)>,
}

impl Slow {
    fn in_use(&self, pool: usize) -> i64 {
        let held = self.requests.iter().filter(|request| matches!(request.state, State::Held(_)));
        held.map(|request| request.needs[pool]).sum()
    }

    /// The waiting ones: by priority, then as they were made.
    fn queue(&self) -> Vec<usize> {
        let mut queue: Vec<usize> =
            (0..self.requests.len()).filter(|&who| self.requests[who].state == State::Waiting).collect();
        queue.sort_by_key(|&who| (self.requests[who].priority, who));
        queue
    }

    /// The holders: the least urgent first, then the one granted last.
    fn holders(&self) -> Vec<usize> {
        let grant = |who: usize| match self.requests[who].state {
            State::Held(grant) => Some(grant),
            _ => None,
        };
        let mut holders: Vec<usize> = (0..self.requests.len()).filter(|&who| grant(who).is_some()).collect();
        holders.sort_by_key(|&who| (-self.requests[who].priority, std::cmp::Reverse(grant(who))));
        holders
    }

    fn preempt(&mut self, who: usize) {
        self.requests[who].state = State::Waiting;
        self.log.push((false, who));
    }

    fn victims_for(&self, who: usize, spare: [i64; POOLS]) -> Option<Vec<usize>> {
        let asking = &self.requests[who];
        let mut short: [i64; POOLS] = std::array::from_fn(|pool| asking.needs[pool] - spare[pool]);
        let mut victims = Vec::new();
        for holder in self.holders() {
            let held = self.requests[holder].needs;
            let helps = (0..POOLS).any(|pool| asking.needs[pool] > 0 && short[pool] > 0 && held[pool] > 0);
            if self.requests[holder].priority > asking.priority && helps {
                victims.push(holder);
                (0..POOLS).for_each(|pool| short[pool] -= held[pool]);
            }
        }
        (0..POOLS).all(|pool| asking.needs[pool] == 0 || short[pool] <= 0).then_some(victims)
    }

    fn settle(&mut self) {
        'anew: loop {
            // What those behind may use, and whether someone ahead is short there.
            let mut spare: [i64; POOLS] = std::array::from_fn(|pool| self.capacity[pool] - self.in_use(pool));
            let mut wanted: [bool; POOLS] = std::array::from_fn(|pool| spare[pool] < 0);
            spare = spare.map(|spare| spare.max(0));
            for who in self.queue() {
                let Request { needs, preempts, .. } = self.requests[who];
                let needed = || (0..POOLS).filter(|&pool| needs[pool] > 0);
                if needed().all(|pool| needs[pool] <= spare[pool]) {
                    self.grants += 1;
                    self.requests[who].state = State::Held(self.grants);
                    self.log.push((true, who));
                    continue 'anew;
                }
                if preempts
                    && !needed().any(|pool| wanted[pool])
                    && let Some(victims) = self.victims_for(who, spare)
                {
                    victims.into_iter().for_each(|victim| self.preempt(victim));
                    continue 'anew;
                }
                for pool in needed() {
                    wanted[pool] |= needs[pool] > spare[pool];
                    spare[pool] -= needs[pool].min(spare[pool]);
                }
            }
            return;
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(600))]
    #[test]
    fn pools_grant_and_preempt_as_their_rules_say(
        capacity in prop::array::uniform3(1..5u32),
        steps in prop::collection::vec(step(), 0..80),
    ) {
        let (mut pools, mut changes) = (Pools::new(), Vec::new());
        let ids: Vec<PoolId> = capacity.iter().map(|&capacity| pools.add(capacity)).collect();
        let mut slow = Slow { capacity: capacity.map(i64::from), ..Slow::default() };
        let mut tickets: Vec<Ticket> = Vec::new();
        for step in steps {
            changes.clear();
            slow.log.clear();
            match step {
                Step::Request { priority, preempts, needs } => {
                    let asked: Vec<(PoolId, u32)> =
                        ids.iter().copied().zip(needs).filter(|need| need.1 > 0).collect();
                    let tag = tickets.len();
                    let ticket = if preempts {
                        pools.request_preempting(tag, priority, &asked, &mut changes)
                    } else {
                        pools.request(tag, priority, &asked, &mut changes)
                    };
                    tickets.push(ticket.unwrap());
                    let (needs, state) = (needs.map(i64::from), State::Waiting);
                    slow.requests.push(Request { priority, preempts, needs, state });
                }
                Step::Release(which) if !tickets.is_empty() => {
                    // Mostly a holder, so that things move; sometimes any request.
                    let holders = slow.holders();
                    let which = if which % 8 == 0 || holders.is_empty() {
                        which % tickets.len()
                    } else {
                        holders[which % holders.len()]
                    };
                    let held = matches!(slow.requests[which].state, State::Held(_));
                    if held {
                        slow.requests[which].state = State::Gone;
                    }
                    let done = pools.release(tickets[which], &mut changes);
                    prop_assert_eq!(done, if held { Ok(()) } else { Err(PoolError::NotHeld) });
                }
                Step::Withdraw(which) if !tickets.is_empty() => {
                    let which = which % tickets.len();
                    let waits = slow.requests[which].state == State::Waiting;
                    if waits {
                        slow.requests[which].state = State::Gone;
                    }
                    let done = pools.withdraw(tickets[which], &mut changes);
                    prop_assert_eq!(done, if waits { Ok(()) } else { Err(PoolError::NotWaiting) });
                }
                Step::Release(_) | Step::Withdraw(_) => {}
                Step::Capacity { pool, capacity, preempt } => {
                    slow.capacity[pool] = i64::from(capacity);
                    if preempt {
                        for holder in slow.holders() {
                            if slow.requests[holder].needs[pool] > 0 && slow.in_use(pool) > slow.capacity[pool] {
                                slow.preempt(holder);
                            }
                        }
                    }
                    let shrink = if preempt { Shrink::Preempt } else { Shrink::Finish };
                    pools.set_capacity(ids[pool], capacity, shrink, &mut changes).unwrap();
                }
                Step::Clear => {
                    pools.clear();
                    slow.requests.iter_mut().for_each(|request| request.state = State::Gone);
                }
            }
            slow.settle();
            let happened: Vec<(bool, usize)> = changes
                .iter()
                .map(|change| match *change {
                    Change::Granted { tag, .. } => (true, tag),
                    Change::Preempted { tag, .. } => (false, tag),
                })
                .collect();
            prop_assert_eq!(&happened, &slow.log);
            for (who, request) in slow.requests.iter().enumerate() {
                prop_assert_eq!(pools.is_held(tickets[who]), matches!(request.state, State::Held(_)));
                prop_assert_eq!(pools.is_waiting(tickets[who]), request.state == State::Waiting);
            }
            for (pool, &id) in ids.iter().enumerate() {
                prop_assert_eq!(pools.in_use(id), Some(slow.in_use(pool)));
                prop_assert_eq!(pools.capacity(id), Some(slow.capacity[pool]));
                let waiting = slow.queue().iter().filter(|&&who| slow.requests[who].needs[pool] > 0).count();
                prop_assert_eq!(pools.waiting(id), Some(waiting as u32));
            }
        }
    }
}

#[test]
fn a_large_request_is_not_starved_by_small_ones() {
    let (mut pools, mut changes) = (Pools::new(), Vec::new());
    let (people, machines) = (pools.add(3), pools.add(2));
    let early: Vec<Ticket> =
        (0..3).map(|i| pools.request(i, 0, &[(people, 1)], &mut changes).unwrap()).collect();
    let machine = pools.request(8, 0, &[(machines, 2)], &mut changes).unwrap();
    let large = pools.request(9, 0, &[(people, 3), (machines, 2)], &mut changes).unwrap();
    for (i, ticket) in early.into_iter().enumerate() {
        pools.request(100 + i, 0, &[(people, 1)], &mut changes).unwrap();
        pools.request(200 + i, 0, &[(machines, 1)], &mut changes).unwrap();
        pools.release(ticket, &mut changes).unwrap();
        assert!(pools.is_waiting(large));
        assert_eq!(pools.in_use(people), Some(2 - i as i64), "nobody took what is set aside");
    }
    changes.clear();
    pools.release(machine, &mut changes).unwrap();
    assert_eq!(changes, [Change::Granted { ticket: large, tag: 9 }]);
}

#[test]
fn what_a_waiting_request_does_not_need_is_free_for_those_behind() {
    let (mut pools, mut changes) = (Pools::new(), Vec::new());
    let (people, machines) = (pools.add(3), pools.add(1));
    pools.request('a', 0, &[(machines, 1)], &mut changes).unwrap();
    pools.request('b', 0, &[(people, 1), (machines, 1)], &mut changes).unwrap();
    let overtakes = pools.request('c', 0, &[(people, 2)], &mut changes).unwrap();
    let stays = pools.request('d', 0, &[(people, 1)], &mut changes).unwrap();
    assert!(pools.is_held(overtakes));
    assert!(pools.is_waiting(stays));
}

#[test]
fn each_mistake_has_its_error_and_changes_nothing() {
    let (mut other, mut pools, mut changes) = (Pools::<()>::new(), Pools::new(), Vec::new());
    let pool = pools.add(1);
    other.add(1);
    let unknown = other.add(1);
    let mut ask = |needs: &[(PoolId, u32)]| pools.request((), 0, needs, &mut changes);
    assert_eq!(ask(&[]), Err(PoolError::NothingAsked));
    assert_eq!(ask(&[(pool, 1), (unknown, 1)]), Err(PoolError::UnknownPool(1)));
    assert_eq!(ask(&[(pool, 0)]), Err(PoolError::ZeroAmount(0)));
    assert_eq!(ask(&[(pool, 1), (pool, 1)]), Err(PoolError::AskedTwice(0)));
    let done = pools.set_capacity(unknown, 1, Shrink::Finish, &mut changes);
    assert_eq!(done, Err(PoolError::UnknownPool(1)));
    assert_eq!((pools.in_use(unknown), pools.capacity(unknown), pools.waiting(unknown)), (None, None, None));
    let held = pools.request((), 0, &[(pool, 1)], &mut changes).unwrap();
    let waits = pools.request((), 0, &[(pool, 1)], &mut changes).unwrap();
    assert_eq!(pools.release(waits, &mut changes), Err(PoolError::NotHeld));
    assert_eq!(pools.withdraw(held, &mut changes), Err(PoolError::NotWaiting));
    pools.release(held, &mut changes).unwrap();
    assert_eq!(pools.release(held, &mut changes), Err(PoolError::NotHeld));
    assert_eq!(changes.len(), 2);
}

#[test]
fn the_most_urgent_priority_preempts_no_equal() {
    let (mut pools, mut changes) = (Pools::new(), Vec::new());
    let pool = pools.add(1);
    let first = pools.request_preempting('a', i32::MIN, &[(pool, 1)], &mut changes).unwrap();
    pools.request_preempting('b', i32::MIN, &[(pool, 1)], &mut changes).unwrap();
    assert!(pools.is_held(first));
}
