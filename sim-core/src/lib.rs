//! Dryspell's model. Layers, lowest first; each may use those before it and no other:
//! [`kernel`], [`weather`], [`study`].

pub mod kernel;
pub mod study;
pub mod weather;
