//! The kernel against hand-written floors and against peers: ratios, from alternate rounds of one run.
#![allow(clippy::print_stdout, reason = "printing the ratios is what it is for")]

use std::cmp::Reverse;
use std::collections::VecDeque;
use std::process::Command;
use std::time::Instant;

use desque::serial::{Event as PeerEvent, Simulation};
use priority_queue::PriorityQueue;
use sim_core::kernel::{Agenda, CountTally, Tick, TimeTally};
use speed::hold::{Ahead, ByHand, Pending, hold};
use speed::mm1::{self, Draws, OnKernel};
use speed::rounds::{Contestant, Figure, compare};

/// A peer: a general-purpose queue whose entries can be removed by key.
#[derive(Default)]
struct Keyed {
    queue: PriorityQueue<u32, Reverse<(Tick, u64)>>,
    serial: u64,
}

impl Pending for Keyed {
    type Handle = u32;
    fn add(&mut self, at: Tick, event: u32) -> u32 {
        self.serial += 1;
        self.queue.push(event, Reverse((at, self.serial)));
        event
    }
    fn take(&mut self) -> Option<(Tick, u32)> {
        self.queue.pop().map(|(event, Reverse((at, _)))| (at, event))
    }
    fn cancel(&mut self, event: u32) -> bool {
        self.queue.remove(&event).is_some()
    }
    fn clear(&mut self) {
        self.queue.clear();
    }
}

fn contestant<'a, P: Pending + Default + 'a>(
    name: &'a str,
    ahead: &'a Ahead,
    events: u32,
    steps: usize,
) -> Contestant<'a>
where
    P::Handle: 'a,
{
    let (mut pending, mut handles) = (P::default(), Vec::new());
    Contestant::new(name, move || hold(&mut pending, &mut handles, ahead, events, steps))
}

/// A peer: the queue on a general event simulator, whose events are boxed and know what they do.
struct Peer {
    lorries: u64,
    draws: Draws,
    queue: VecDeque<(u64, Tick)>,
    busy: bool,
    present: TimeTally,
    waits: CountTally,
}

impl desque::SimState<Tick> for Peer {}

#[derive(Debug)]
struct PeerArrival(u64);
#[derive(Debug)]
struct PeerLeaving;

fn serve(simulation: &mut Simulation<Peer, Tick>, n: u64, arrived: Tick) -> desque::Result {
    let now = *simulation.current_time();
    simulation.state_mut().waits.add((now - arrived) as f64);
    let end = now + simulation.state().draws.service(n);
    simulation.schedule(PeerLeaving, end)
}

impl PeerEvent<Peer, Tick> for PeerArrival {
    fn execute(&mut self, simulation: &mut Simulation<Peer, Tick>) -> desque::Result {
        let now = *simulation.current_time();
        let state = simulation.state_mut();
        state.present.add(now, 1);
        if std::mem::replace(&mut state.busy, true) {
            state.queue.push_back((self.0, now));
        } else {
            serve(simulation, self.0, now)?;
        }
        if self.0 + 1 < simulation.state().lorries {
            let next = now + simulation.state().draws.between(self.0);
            simulation.schedule(PeerArrival(self.0 + 1), next)?;
        }
        Ok(())
    }
}

impl PeerEvent<Peer, Tick> for PeerLeaving {
    fn execute(&mut self, simulation: &mut Simulation<Peer, Tick>) -> desque::Result {
        let now = *simulation.current_time();
        let state = simulation.state_mut();
        state.present.add(now, -1);
        match state.queue.pop_front() {
            Some((n, arrived)) => serve(simulation, n, arrived),
            None => {
                state.busy = false;
                Ok(())
            }
        }
    }
}

fn on_peer(lorries: u64) -> u64 {
    let state = Peer {
        lorries,
        draws: Draws::default(),
        queue: VecDeque::new(),
        busy: false,
        present: TimeTally::new(0, 0),
        waits: CountTally::default(),
    };
    let mut simulation = Simulation::new(state, 0);
    simulation.schedule(PeerArrival(0), 0).expect("the present is not the past");
    simulation.run().expect("no event goes wrong");
    let state = simulation.state();
    mm1::found(state.present.integral(*simulation.current_time()), state.present.max(), state.waits.count())
}

/// Seconds of one run of the queue in SimPy, by its own clock, start of the interpreter left out.
fn simpy(lorries: u64) -> Option<f64> {
    let python = std::env::var("SIMPY_PYTHON").unwrap_or_else(|_| "python3".to_owned());
    let script = concat!(env!("CARGO_MANIFEST_DIR"), "/benches/mm1_simpy.py");
    let output = Command::new(python).arg(script).arg(lorries.to_string()).output().ok()?;
    String::from_utf8(output.stdout).ok()?.trim().parse().ok()
}

/// Alternate rounds of SimPy and the kernel; the median ratio.
fn against_simpy(lorries: u64) {
    let (mut queue, mut agenda) = (OnKernel::new(lorries), Agenda::new());
    queue.work(&mut agenda);
    let mut ratios = Vec::new();
    for _ in 0..5 {
        let Some(peer) = simpy(lorries) else {
            println!("M/M/1 against SimPy: NOT MEASURED, SimPy cannot be imported (set SIMPY_PYTHON)");
            return;
        };
        let start = Instant::now();
        std::hint::black_box(queue.work(&mut agenda));
        ratios.push(peer / start.elapsed().as_secs_f64());
    }
    ratios.sort_by(f64::total_cmp);
    println!(
        "M/M/1, {lorries} lorries: the kernel is {:.0} times as fast as SimPy",
        ratios[ratios.len() / 2]
    );
}

fn print(what: &str, per: usize, unit: &str, figures: &[Figure]) {
    for figure in figures {
        let nanoseconds = figure.seconds * 1e9 / per as f64;
        println!("{what:<28} {:<34} {nanoseconds:>9.1} ns/{unit} {:>8.3} x", figure.name, figure.ratio);
    }
}

fn main() {
    let ahead = Ahead::default();
    println!("ratio: median of the rounds' ratios to the first line of each group");
    for events in [10, 100, 1_000, 10_000] {
        let steps = 300_000;
        let figures = compare(
            15,
            vec![
                contestant::<ByHand>("standard heap by hand", &ahead, events, steps),
                contestant::<Agenda<u32>>("Agenda", &ahead, events, steps),
                contestant::<Keyed>("priority-queue", &ahead, events, steps),
            ],
        );
        print(&format!("hold, {events} pending"), steps, "step", &figures);
    }
    let lorries = 200_000;
    let (mut queue, mut agenda) = (OnKernel::new(lorries), Agenda::new());
    let figures = compare(
        15,
        vec![
            Contestant::new("standard heap by hand", || mm1::with_standard_heap(lorries)),
            Contestant::new("kernel", || queue.work(&mut agenda)),
            Contestant::new("two variables, no event set", || mm1::with_two_variables(lorries)),
            Contestant::new("desque, queue and flag by hand", || on_peer(lorries)),
        ],
    );
    print("M/M/1 with pool and tallies", lorries as usize, "lorry", &figures);
    against_simpy(50_000);
}
