//! Laws of the kernel: each part against a slow model that is obviously right.

mod agenda;
mod calendar;
mod level;
mod pool;
mod preemption;
