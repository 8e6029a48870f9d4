//! Dryspell's model. Layers, lowest first; each may use those before it and no other:
//! [`kernel`], [`weather`].

pub mod kernel;
pub mod weather;
