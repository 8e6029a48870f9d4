//! Hand-written floors that the benches measure the library against, and the rounds that compare them.

pub mod crops;
pub mod hold;
pub mod mm1;
pub mod plain;
pub mod rounds;
