//! Queues whose long-run figures are known exactly, run on the kernel.
//!
//! Every figure is the mean of batch means after a warm-up, with a fixed seed. It must lie within
//! [`BOUND`] standard errors of the exact value, the standard error being that of the batch means; and
//! the standard error must be small against the value, or the check would say nothing.
//!
//! The formulas are those of any textbook of queueing theory, written down from memory; two of them are
//! held to published numbers besides.
#![allow(clippy::print_stdout, reason = "the figures are shown when a check fails")]

use sim_core::kernel::draw::Stream;
use sim_core::kernel::{
    Agenda, Change, CountTally, Model, PoolError, PoolId, Pools, Stop, Tick, Ticket, TimeTally, run,
};

/// Standard errors that a figure may be off. With 40 batches, Student's t exceeds 4 in one of 3 600
/// cases; some 30 figures are checked here.
const BOUND: f64 = 4.0;
/// The largest standard error, as a share of the exact value, with which a check still says something.
const SHARP: f64 = 0.02;
const BATCHES: usize = 40;
/// Ticks an hour: microseconds, so that rounding to ticks is far below the standard errors.
const HOUR: f64 = 3.6e9;

#[derive(Clone, Copy)]
enum Source {
    /// Arrivals at random, so many an hour, whatever is in the queue.
    Open { per_hour: f64 },
    /// So many machines, each of which fails so often an hour while it runs, and comes to be repaired.
    Machines { number: u64, per_hour: f64 },
}

#[derive(Clone, Copy)]
struct Queue {
    source: Source,
    servers: u32,
    service_h: f64,
    /// Whether every service takes the mean, or an exponential time.
    constant: bool,
    /// Whether those who find no server free go away.
    lossy: bool,
}

enum Event {
    Arrival,
    Leaving { ticket: Ticket, arrived: Tick },
}

struct Station {
    queue: Queue,
    streams: [Stream; 2],
    drawn: [u64; 2],
    pools: Pools<Tick>,
    servers: PoolId,
    changes: Vec<Change<Tick>>,
    present: TimeTally,
    waiting: TimeTally,
    stay: CountTally,
    wait: CountTally,
    delayed: CountTally,
    lost: CountTally,
}

impl Station {
    fn exponential(&mut self, purpose: usize, mean_h: f64) -> Tick {
        let index = self.drawn[purpose];
        self.drawn[purpose] += 1;
        (-(1.0 - self.streams[purpose].uniform(index)).ln() * mean_h * HOUR) as Tick
    }

    fn next_arrival(&mut self, now: Tick, agenda: &mut Agenda<Event>) {
        let (Source::Open { per_hour } | Source::Machines { per_hour, .. }) = self.queue.source;
        let at = now + self.exponential(0, 1.0 / per_hour);
        agenda.schedule(at, 0, Event::Arrival);
    }

    fn reset(&mut self, now: Tick) {
        self.present.reset(now);
        self.waiting.reset(now);
        for tally in [&mut self.stay, &mut self.wait, &mut self.delayed, &mut self.lost] {
            tally.reset();
        }
    }
}

impl Model for Station {
    type Event = Event;
    type Error = PoolError;

    fn handle(&mut self, now: Tick, event: Event, agenda: &mut Agenda<Event>) -> Result<(), PoolError> {
        match event {
            Event::Arrival => {
                if matches!(self.queue.source, Source::Open { .. }) {
                    self.next_arrival(now, agenda);
                }
                let full = self.pools.in_use(self.servers) == self.pools.capacity(self.servers);
                self.delayed.add(f64::from(u8::from(full)));
                let lost = full && self.queue.lossy;
                self.lost.add(f64::from(u8::from(lost)));
                if !lost {
                    self.present.add(now, 1);
                    self.waiting.add(now, 1);
                    self.pools.request(now, 0, &[(self.servers, 1)], &mut self.changes)?;
                }
            }
            Event::Leaving { ticket, arrived } => {
                self.present.add(now, -1);
                self.stay.add((now - arrived) as f64 / HOUR);
                self.pools.release(ticket, &mut self.changes)?;
                if matches!(self.queue.source, Source::Machines { .. }) {
                    self.next_arrival(now, agenda);
                }
            }
        }
        for at in 0..self.changes.len() {
            if let Change::Granted { ticket, tag: arrived } = self.changes[at] {
                self.waiting.add(now, -1);
                self.wait.add((now - arrived) as f64 / HOUR);
                let mean_h = self.queue.service_h;
                let service =
                    if self.queue.constant { (mean_h * HOUR) as Tick } else { self.exponential(1, mean_h) };
                agenda.schedule(now + service, 0, Event::Leaving { ticket, arrived });
            }
        }
        self.changes.clear();
        Ok(())
    }
}

/// The mean of batch means and its standard error.
#[derive(Default)]
struct Batches(CountTally);

impl Batches {
    fn standard_error(&self) -> f64 {
        self.0.sd() / (BATCHES as f64).sqrt()
    }

    #[track_caller]
    fn check(&self, what: &str, exact: f64) {
        let (mean, error) = (self.0.mean(), self.standard_error());
        let off = (mean - exact) / error;
        println!("{what:<28} exact {exact:.6}  measured {mean:.6}  standard error {error:.6}  off {off:+.2}");
        assert!(off.abs() <= BOUND, "{what}: {mean} is {off} standard errors from {exact}");
        assert!(error <= SHARP * exact, "{what}: a standard error of {error} is too large to say anything");
    }
}

/// Number present and waiting, time in the system and waiting (hours), share of time with more than
/// three present, shares of arrivals that found no server free and that were lost.
#[derive(Default)]
struct Figures {
    present: Batches,
    waiting: Batches,
    stay: Batches,
    wait: Batches,
    more_than_three: Batches,
    delayed: Batches,
    lost: Batches,
}

fn simulate(queue: Queue, seed: u64, batch_h: f64) -> Figures {
    let mut pools = Pools::new();
    let servers = pools.add(queue.servers);
    let mut station = Station {
        queue,
        streams: [Stream::new(seed, 0, 0), Stream::new(seed, 0, 1)],
        drawn: [0; 2],
        pools,
        servers,
        changes: Vec::new(),
        present: TimeTally::new(0, 0).with_mark(4),
        waiting: TimeTally::new(0, 0),
        stay: CountTally::default(),
        wait: CountTally::default(),
        delayed: CountTally::default(),
        lost: CountTally::default(),
    };
    let mut agenda = Agenda::new();
    let begin = if let Source::Machines { number, .. } = queue.source { number } else { 1 };
    (0..begin).for_each(|_| station.next_arrival(0, &mut agenda));

    let mut figures = Figures::default();
    let batch = (batch_h * HOUR) as Tick;
    // One batch to warm up.
    assert_eq!(run(&mut station, &mut agenda, batch), Ok(Stop::Until));
    station.reset(batch);
    for number in 1..=BATCHES as Tick {
        let end = (number + 1) * batch;
        assert_eq!(run(&mut station, &mut agenda, end), Ok(Stop::Until));
        figures.present.0.add(station.present.mean(end));
        figures.waiting.0.add(station.waiting.mean(end));
        figures.stay.0.add(station.stay.mean());
        figures.wait.0.add(station.wait.mean());
        figures.more_than_three.0.add(station.present.time_at_or_above(end) as f64 / batch as f64);
        figures.delayed.0.add(station.delayed.mean());
        figures.lost.0.add(station.lost.mean());
        station.reset(end);
    }
    figures
}

/// One server, 30 arrivals and 35 services an hour. The numbers are those of a published worked example
/// of a grain intake; they follow from L = rho/(1 - rho), W = L/lambda, Lq = L - rho, Wq = Lq/lambda and
/// P(more than n) = rho^(n+1).
#[test]
fn one_server_random_service() {
    let source = Source::Open { per_hour: 30.0 };
    let queue = Queue { source, servers: 1, service_h: 1.0 / 35.0, constant: false, lossy: false };
    let batch_h = 2_000.0;
    let figures = simulate(queue, 1, batch_h);
    let (lambda, rho) = (30.0, 30.0 / 35.0_f64);
    let present = rho / (1.0 - rho);
    for (exact, published) in [
        (present, 6.0),
        (present / lambda, 0.2),
        (present - rho, 5.143),
        ((present - rho) / lambda, 0.1714),
        (rho.powi(4), 0.5398),
    ] {
        assert!((exact - published).abs() < 0.0005, "{exact} is published as {published}");
    }
    figures.present.check("M/M/1 present", present);
    figures.stay.check("M/M/1 time in system, h", present / lambda);
    figures.waiting.check("M/M/1 waiting", present - rho);
    figures.wait.check("M/M/1 wait, h", (present - rho) / lambda);
    figures.more_than_three.check("M/M/1 more than three", rho.powi(4));
    // Those who arrive at random find what is there over time.
    figures.delayed.check("M/M/1 finds the server busy", rho);

    // The standard error itself: over a long time t the mean number present has the variance
    // 2 rho (1 + rho) / ((1 - rho)^4 mu t) (Whitt 1989, "Planning queueing simulations", from memory).
    // With 40 batches an estimate of it is off by 11 % as a rule, and here by at most four times that.
    let services = 35.0 * batch_h * BATCHES as f64;
    let exact = (2.0 * rho * (1.0 + rho) / ((1.0 - rho).powi(4) * services)).sqrt();
    let ratio = figures.present.standard_error() / exact;
    println!("standard error of the number present: {ratio:.3} of the exact one");
    assert!((ratio - 1.0).abs() < 0.45, "the standard error is {ratio} of the exact one");
}

/// Constant service, 25 arrivals and 35 services an hour: the formula of Pollaczek and Khinchine with no
/// variance of service, Lq = rho^2 / (2 (1 - rho)).
#[test]
fn one_server_constant_service() {
    let source = Source::Open { per_hour: 25.0 };
    let queue = Queue { source, servers: 1, service_h: 1.0 / 35.0, constant: true, lossy: false };
    let figures = simulate(queue, 2, 1_000.0);
    let (lambda, rho) = (25.0, 25.0 / 35.0_f64);
    let waiting = rho * rho / (2.0 * (1.0 - rho));
    figures.waiting.check("M/D/1 waiting", waiting);
    figures.wait.check("M/D/1 wait, h", waiting / lambda);
    figures.present.check("M/D/1 present", waiting + rho);
    figures.stay.check("M/D/1 time in system, h", (waiting + rho) / lambda);
    figures.delayed.check("M/D/1 finds the server busy", rho);
}

/// The share of calls lost with `servers` and an offered load in erlang: Erlang's B by its recursion
/// B(0) = 1, B(n) = a B(n-1) / (n + a B(n-1)).
fn erlang_b(servers: u32, offered: f64) -> f64 {
    (1..=servers).fold(1.0, |lost, n| offered * lost / (f64::from(n) + offered * lost))
}

/// The share that must wait, Erlang's C = B / (1 - rho (1 - B)).
fn erlang_c(servers: u32, offered: f64) -> f64 {
    let lost = erlang_b(servers, offered);
    lost / (1.0 - offered / f64::from(servers) * (1.0 - lost))
}

/// Eight servers, 3.87 erlang: about one in twenty must wait.
#[test]
fn eight_servers() {
    let offered = 3.87;
    let source = Source::Open { per_hour: offered };
    let queue = Queue { source, servers: 8, service_h: 1.0, constant: false, lossy: false };
    let must_wait = erlang_c(8, offered);
    assert!((must_wait - 0.05).abs() < 0.002, "{must_wait}");
    let figures = simulate(queue, 3, 12_000.0);
    let wait = must_wait / (8.0 - offered);
    figures.delayed.check("M/M/8 must wait (Erlang C)", must_wait);
    figures.wait.check("M/M/8 wait, h", wait);
    figures.waiting.check("M/M/8 waiting", wait * offered);
    figures.present.check("M/M/8 present", wait * offered + offered);
    figures.stay.check("M/M/8 time in system, h", wait + 1.0);

    let figures = simulate(Queue { lossy: true, ..queue }, 4, 12_000.0);
    let lost = erlang_b(8, offered);
    figures.lost.check("M/M/8/8 lost (Erlang B)", lost);
    figures.present.check("M/M/8/8 present", offered * (1.0 - lost));
}

/// Erlang's B holds for any service of the same mean, constant ones too.
#[test]
fn eight_servers_that_lose_calls_do_not_mind_the_shape_of_service() {
    let source = Source::Open { per_hour: 3.87 };
    let queue = Queue { source, servers: 8, service_h: 1.0, constant: true, lossy: true };
    simulate(queue, 5, 12_000.0).lost.check("M/D/8/8 lost (Erlang B)", erlang_b(8, 3.87));
}

/// Six machines, two fitters: the number out of order is a birth and death process, whose long-run shares
/// are proportional to the products of failure rate over repair rate.
#[test]
fn machines_and_fitters() {
    let (machines, fitters, fails, repair_h) = (6u64, 2u32, 0.1, 4.0);
    let mut shares = vec![1.0];
    for down in 0..machines {
        let failing = (machines - down) as f64 * fails;
        let repairing = (down + 1).min(u64::from(fitters)) as f64 / repair_h;
        shares.push(shares[down as usize] * failing / repairing);
    }
    let all: f64 = shares.iter().sum();
    let mean = |of: &dyn Fn(f64) -> f64| -> f64 {
        shares.iter().enumerate().map(|(down, share)| of(down as f64) * share / all).sum()
    };
    let down = mean(&|down| down);
    let waiting = mean(&|down| (down - f64::from(fitters)).max(0.0));
    let failures_per_hour = fails * (machines as f64 - down);
    // A failing machine finds what there is with one machine fewer in the shop: each state weighs as
    // many as can fail in it.
    let finds_none_free =
        mean(&|down| if down >= f64::from(fitters) { (machines as f64 - down) * fails } else { 0.0 })
            / failures_per_hour;

    let source = Source::Machines { number: machines, per_hour: fails };
    let queue = Queue { source, servers: fitters, service_h: repair_h, constant: false, lossy: false };
    let figures = simulate(queue, 6, 20_000.0);
    figures.present.check("repair: out of order", down);
    figures.waiting.check("repair: waiting", waiting);
    figures.stay.check("repair: time out of order, h", down / failures_per_hour);
    figures.wait.check("repair: wait, h", waiting / failures_per_hour);
    figures.delayed.check("repair: finds none free", finds_none_free);
    let more_than_three = mean(&|down| f64::from(u8::from(down > 3.0)));
    figures.more_than_three.check("repair: more than three", more_than_three);
}
