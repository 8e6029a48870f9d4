//! How sure pairs make one of a difference: two farms worked under the same skies, season by season. What is paired is
//! not known here, nor who is which; differences are the variant's less the base's.

mod mean;
mod share;

pub use mean::PairedMean;
pub(super) use mean::t_95;
pub use share::PairedShare;

/// More than so many pairs nobody works: a difference that needs more counts as none.
const MOST_PAIRS: f64 = 1e12;

fn apart((low, high): (f64, f64)) -> bool {
    low > 0.0 || high < 0.0
}

/// The least number from `from` on that is enough, to a thousandth; `None` if none is.
fn least(from: f64, enough: impl Fn(f64) -> bool) -> Option<f64> {
    let (mut low, mut high) = (from, from);
    while !enough(high) {
        low = high;
        high *= 2.0;
        if high > MOST_PAIRS {
            return None;
        }
    }
    while high - low > low / 1000.0 {
        let middle = (low + high) / 2.0;
        if enough(middle) {
            high = middle;
        } else {
            low = middle;
        }
    }
    Some(high.ceil())
}
