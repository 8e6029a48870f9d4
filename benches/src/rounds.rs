//! Timing contestants against each other in alternate rounds of one run, so that a busy machine slows
//! all of them alike; the figure is the median of the rounds' ratios.

use std::time::Instant;

/// One of those compared.
pub struct Contestant<'a> {
    name: &'a str,
    work: Box<dyn FnMut() -> u64 + 'a>,
}

impl<'a> Contestant<'a> {
    /// A contestant whose `work` returns what it found, to be compared with what the others found.
    pub fn new(name: &'a str, work: impl FnMut() -> u64 + 'a) -> Self {
        Self { name, work: Box::new(work) }
    }
}

/// What the rounds gave for one contestant.
#[derive(Debug, Clone)]
pub struct Figure {
    /// Its name.
    pub name: String,
    /// The median time of one round, in seconds.
    pub seconds: f64,
    /// The median over the rounds of its time divided by the first contestant's.
    pub ratio: f64,
}

/// The middle value (of an even number, the upper middle one).
fn median(mut values: Vec<f64>) -> f64 {
    values.sort_by(f64::total_cmp);
    values[values.len() / 2]
}

/// Lets every contestant do its work `rounds` times, in turn and from the other end every other round,
/// after one round to warm up.
///
/// # Panics
///
/// If two contestants find different things, or there is none or no round.
pub fn compare(rounds: usize, mut contestants: Vec<Contestant<'_>>) -> Vec<Figure> {
    assert!(rounds > 0 && !contestants.is_empty());
    let count = contestants.len();
    let mut seconds = vec![Vec::with_capacity(rounds); count];
    let found = (contestants[0].work)();
    for other in &mut contestants {
        assert_eq!((other.work)(), found, "{} finds something else", other.name);
    }
    for round in 0..rounds {
        for turn in 0..count {
            let who = if round % 2 == 0 { turn } else { count - 1 - turn };
            let start = Instant::now();
            assert_eq!(std::hint::black_box((contestants[who].work)()), found);
            seconds[who].push(start.elapsed().as_secs_f64());
        }
    }
    let floor = seconds[0].clone();
    contestants
        .iter()
        .zip(seconds)
        .map(|(contestant, own)| Figure {
            name: contestant.name.to_owned(),
            ratio: median(own.iter().zip(&floor).map(|(own, floor)| own / floor).collect()),
            seconds: median(own),
        })
        .collect()
}
