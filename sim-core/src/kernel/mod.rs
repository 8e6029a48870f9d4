//! The discrete-event kernel: it knows nothing of farms, weather or dates.

pub mod draw;
