//! The weather of a season: which days suit which kind of work.
