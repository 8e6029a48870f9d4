//! The kernel against hand-written floors and against peers: ratios, from alternate rounds of one run.
#![allow(clippy::print_stdout, reason = "printing the ratios is what it is for")]

use std::cmp::Reverse;

use priority_queue::PriorityQueue;
use sim_core::kernel::{Agenda, Tick};
use speed::hold::{Ahead, ByHand, Pending, hold};
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
}
