//! Dryspell's model. Layers, lowest first; each may use those before it and no other:
//! [`kernel`], [`weather`], [`farm`], [`season`], [`study`].
//!
//! The [`kernel`] can be used alone. Lorries come to one weighbridge at random, 30 an hour, and it serves
//! 35 an hour: an M/M/1 queue, in ticks of a millisecond.
//!
//! ```
//! use sim_core::kernel::{Agenda, Change, Model, PoolError, PoolId, Pools, Tick, Ticket, TimeTally};
//! use sim_core::kernel::{draw::Stream, run};
//!
//! enum Event { Arrival(u64), Leaving(Ticket) }
//! struct Weighing { pools: Pools<u64>, bridge: PoolId, changes: Vec<Change<u64>>, present: TimeTally }
//!
//! const HOUR: f64 = 3_600_000.0;
//! fn exponential(purpose: u64, lorry: u64, per_hour: f64) -> Tick {
//!     (-(1.0 - Stream::new(1, 0, purpose).uniform(lorry)).ln() / per_hour * HOUR) as Tick
//! }
//! impl Model for Weighing {
//!     type Event = Event;
//!     type Error = PoolError;
//!     fn handle(&mut self, now: Tick, event: Event, agenda: &mut Agenda<Event>) -> Result<(), PoolError> {
//!         match event {
//!             Event::Arrival(lorry) => {
//!                 self.present.add(now, 1);
//!                 agenda.schedule(now + exponential(0, lorry, 30.0), 0, Event::Arrival(lorry + 1));
//!                 self.pools.request(lorry, 0, &[(self.bridge, 1)], &mut self.changes)?;
//!             }
//!             Event::Leaving(ticket) => {
//!                 self.present.add(now, -1);
//!                 self.pools.release(ticket, &mut self.changes)?;
//!             }
//!         }
//!         for change in self.changes.drain(..) {
//!             let Change::Granted { ticket, tag: lorry } = change else { continue };
//!             agenda.schedule(now + exponential(1, lorry, 35.0), 0, Event::Leaving(ticket));
//!         }
//!         Ok(())
//!     }
//! }
//! let (mut pools, mut agenda, end) = (Pools::new(), Agenda::new(), (20_000.0 * HOUR) as Tick);
//! let bridge = pools.add(1);
//! let mut model = Weighing { pools, bridge, changes: Vec::new(), present: TimeTally::new(0, 0) };
//! agenda.schedule(0, 0, Event::Arrival(0));
//! run(&mut model, &mut agenda, end)?;
//! // Exactly 30 / (35 - 30) = 6 are present on average; the bound is four standard errors of 0.104.
//! assert!((model.present.mean(end) - 6.0).abs() < 0.42);
//! # Ok::<(), PoolError>(())
//! ```
//!
//! The standard error is that of the mean number present in an M/M/1 queue over a long time `t`, started
//! anywhere: the root of `2 rho (1 + rho) / ((1 - rho)^4 mu t)`, with `rho = 6/7` and `mu t = 700 000`
//! (formula from memory; batch means in the crate of outside checks agree with it).

pub mod farm;
pub mod kernel;
pub mod season;
pub mod study;
pub mod weather;
