//! Pre-emption with resume, agenda and pools together, against a machine that picks anew every tick.

use proptest::prelude::*;
use sim_core::kernel::{Agenda, Change, Handle, Model, PoolError, PoolId, Pools, Stop, Tick, Ticket, run};

#[derive(Debug, Clone, Copy)]
struct Job {
    arrival: Tick,
    priority: i32,
    work: Tick,
}

fn job() -> impl Strategy<Value = Job> {
    (0..40i64, 0..4i32, 1..9i64).prop_map(|(arrival, priority, work)| Job { arrival, priority, work })
}

enum Event {
    Arrival(usize),
    End(usize, Ticket),
}

struct Shop {
    jobs: Vec<Job>,
    pools: Pools<usize>,
    machine: PoolId,
    changes: Vec<Change<usize>>,
    /// For each job: the work left when it last began or stopped, when it began, and its end event.
    left: Vec<Tick>,
    began: Vec<Tick>,
    end: Vec<Option<Handle>>,
    finish: Vec<Tick>,
}

impl Model for Shop {
    type Event = Event;
    type Error = PoolError;
    fn handle(&mut self, now: Tick, event: Event, agenda: &mut Agenda<Event>) -> Result<(), PoolError> {
        match event {
            Event::Arrival(job) => {
                let needs = [(self.machine, 1)];
                self.pools.request_preempting(job, self.jobs[job].priority, &needs, &mut self.changes)?;
            }
            Event::End(job, ticket) => {
                self.finish[job] = now;
                self.pools.release(ticket, &mut self.changes)?;
            }
        }
        for change in self.changes.drain(..) {
            match change {
                Change::Granted { ticket, tag: job } => {
                    self.began[job] = now;
                    self.end[job] = Some(agenda.schedule(now + self.left[job], 0, Event::End(job, ticket)));
                }
                Change::Preempted { tag: job, .. } => {
                    self.left[job] -= now - self.began[job];
                    let end = self.end[job].take();
                    assert!(end.is_some_and(|end| agenda.cancel(end).is_some()));
                }
            }
        }
        Ok(())
    }
}

fn tick_by_tick(jobs: &[Job]) -> Vec<Tick> {
    let mut left: Vec<Tick> = jobs.iter().map(|job| job.work).collect();
    let mut finish = vec![0; jobs.len()];
    let mut now = 0;
    while left.iter().any(|&left| left > 0) {
        let here = (0..jobs.len()).filter(|&job| jobs[job].arrival <= now && left[job] > 0);
        if let Some(job) = here.min_by_key(|&job| (jobs[job].priority, jobs[job].arrival, job)) {
            left[job] -= 1;
            finish[job] = now + 1;
        }
        now += 1;
    }
    finish
}

proptest! {
    #[test]
    fn preempted_work_is_kept_and_resumed(jobs in prop::collection::vec(job(), 1..14)) {
        let count = jobs.len();
        let (mut pools, mut agenda) = (Pools::new(), Agenda::new());
        let machine = pools.add(1);
        for (job, Job { arrival, .. }) in jobs.iter().enumerate() {
            agenda.schedule(*arrival, 1, Event::Arrival(job));
        }
        let mut shop = Shop {
            left: jobs.iter().map(|job| job.work).collect(),
            jobs: jobs.clone(),
            pools,
            machine,
            changes: Vec::new(),
            began: vec![0; count],
            end: vec![None; count],
            finish: vec![0; count],
        };
        prop_assert_eq!(run(&mut shop, &mut agenda, Tick::MAX), Ok(Stop::Empty));
        prop_assert_eq!(shop.finish, tick_by_tick(&jobs));
    }
}
