//! Hand-written floors that the benches measure the library against.
