//! One season's days: which are suitable for which key, and for how many minutes. What the layers above see of any weather, whether it
//! was drawn, replayed or given. How a sky comes about is not here.

/// One bit for each key and day of a season: is the day suitable? And for keys that have part-suitable days the minutes
/// of each day that are.
///
/// A key is a work class on a soil; the caller knows which. Days are numbered from 0, as in
/// [`Span`](crate::weather::Span).
///
/// ```
/// use sim_core::weather::Sky;
/// let sky = Sky::from_days(&[vec![true, false, true, true]]);
/// assert!(sky.suitable(0, 2));
/// assert_eq!(sky.count(0, 0, 4), 3);
/// assert_eq!(sky.count(0, 1, 3), 1);
/// ```
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Sky {
    keys: usize,
    days: usize,
    words_per_key: usize,
    words: Vec<u64>,
    source: SkySource,
    /// For each key the place of its days among `minutes`, or [`NO_HOURS`]; empty when no key has hours.
    places: Vec<u32>,
    /// Workable minutes of each day if it is suitable, key after key of those that have hours.
    minutes: Vec<u16>,
}

/// Where a season's sky came from, for what else depends on the year.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum SkySource {
    /// It was given day by day.
    #[default]
    Given,
    /// It was drawn.
    Drawn {
        /// Under this seed.
        seed: u64,
        /// For this season.
        season: u64,
    },
    /// It is a recorded year.
    Recorded {
        /// Its index among the recorded years.
        year: u32,
    },
}

/// The place of a key whose days are whole.
const NO_HOURS: u32 = u32::MAX;

/// Minutes of a whole day.
pub(crate) const WHOLE_DAY_MIN: u16 = 1440;

/// Days in one word of bits.
pub(crate) const WORD_DAYS: usize = 64;

impl Sky {
    /// A sky of `keys` keys and `days` days, none of them suitable.
    #[must_use]
    pub fn new(keys: usize, days: usize) -> Self {
        let mut sky = Self::default();
        sky.reset(keys, days);
        sky
    }

    /// A sky of given days: `days[key][day]`.
    ///
    /// # Panics
    /// When the keys have different numbers of days.
    #[must_use]
    pub fn from_days(days: &[Vec<bool>]) -> Self {
        let length = days.first().map_or(0, Vec::len);
        let mut sky = Self::new(days.len(), length);
        for (key, row) in days.iter().enumerate() {
            assert_eq!(row.len(), length, "key {key} has another number of days than key 0");
            for (day, suitable) in row.iter().enumerate() {
                sky.set(key, day, *suitable);
            }
        }
        sky
    }

    /// Number of keys.
    #[must_use]
    pub fn keys(&self) -> usize {
        self.keys
    }

    /// Number of days.
    #[must_use]
    pub fn days(&self) -> usize {
        self.days
    }

    /// Whether `day` is suitable for `key`.
    ///
    /// # Panics
    /// When the key or the day is outside the sky.
    #[inline]
    #[must_use]
    pub fn suitable(&self, key: usize, day: usize) -> bool {
        assert!(key < self.keys && day < self.days, "key {key}, day {day} outside the sky");
        self.words[key * self.words_per_key + day / WORD_DAYS] >> (day % WORD_DAYS) & 1 == 1
    }

    /// Takes over another sky. Nothing is allocated when this one has been as large.
    pub fn copy_from(&mut self, other: &Self) {
        (self.keys, self.days, self.words_per_key) = (other.keys, other.days, other.words_per_key);
        self.words.clear();
        self.words.extend_from_slice(&other.words);
        self.places.clone_from(&other.places);
        self.minutes.clone_from(&other.minutes);
        self.source = other.source;
    }

    /// Where it came from.
    #[must_use]
    pub fn source(&self) -> SkySource {
        self.source
    }

    /// Says where it came from: from nowhere unless said.
    pub fn set_source(&mut self, source: SkySource) {
        self.source = source;
    }

    /// Whether any key has part-suitable days.
    #[inline]
    #[must_use]
    pub fn has_hours(&self) -> bool {
        !self.places.is_empty()
    }

    /// The workable minutes of `day`, 0 to 1440, if it suits `key`; nothing where the key has whole days.
    ///
    /// # Panics
    /// When the day is outside the sky and the key has hours.
    #[inline]
    #[must_use]
    pub fn minutes(&self, key: usize, day: usize) -> Option<u16> {
        let place = *self.places.get(key)?;
        (place != NO_HOURS).then(|| {
            assert!(day < self.days, "day {day} outside the sky");
            self.minutes[place as usize + day]
        })
    }

    /// Says how many minutes of `day` are workable for `key` if it is suitable, at most 1440. Its other days are whole
    /// until something is said of them; a day of no minutes is not suitable.
    ///
    /// ```
    /// use sim_core::weather::Sky;
    /// let mut sky = Sky::from_days(&[vec![true, true, true], vec![true, true, true]]);
    /// sky.set_minutes(1, 0, 90);
    /// sky.set_minutes(1, 2, 0);
    /// assert_eq!([sky.minutes(0, 0), sky.minutes(1, 0), sky.minutes(1, 1)], [None, Some(90), Some(1440)]);
    /// assert!(sky.suitable(0, 2) && !sky.suitable(1, 2));
    /// ```
    ///
    /// # Panics
    /// When the key or the day is outside the sky.
    pub fn set_minutes(&mut self, key: usize, day: usize, minutes: u16) {
        assert!(key < self.keys && day < self.days, "key {key}, day {day} outside the sky");
        let place = self.give_hours(key);
        self.minutes[place + day] = minutes.min(WHOLE_DAY_MIN);
        if minutes == 0 {
            self.set(key, day, false);
        }
    }

    /// Gives a key hours, whole days at first, in the memory that there is; where they are.
    pub(crate) fn give_hours(&mut self, key: usize) -> usize {
        if self.places.is_empty() {
            self.places.resize(self.keys, NO_HOURS);
        }
        if self.places[key] == NO_HOURS {
            self.places[key] = self.minutes.len() as u32;
            self.minutes.resize(self.minutes.len() + self.days, WHOLE_DAY_MIN);
        }
        self.places[key] as usize
    }

    /// Writes the minutes of the days from `first`, a word's first day, up to the word's end, of a key that has hours.
    pub(crate) fn set_hours(&mut self, key: usize, first: usize, minutes: impl Fn(usize) -> u16) {
        let place = self.places[key] as usize;
        let past = (first + WORD_DAYS).min(self.days);
        let mut none = 0;
        for (day, of_day) in (first..past).zip(&mut self.minutes[place + first..place + past]) {
            *of_day = minutes(day);
            none |= u64::from(*of_day == 0) << (day - first);
        }
        self.words[key * self.words_per_key + first / WORD_DAYS] &= !none;
    }

    /// Whether each of `days` is suitable for `key`.
    ///
    /// # Panics
    /// When the key or a day is outside the sky.
    pub fn over(&self, key: usize, days: std::ops::Range<usize>) -> impl Iterator<Item = bool> {
        assert!(key < self.keys && days.end <= self.days, "key {key}, days {days:?} outside the sky");
        let words = &self.words[key * self.words_per_key..][..self.words_per_key];
        days.map(move |day| words[day / WORD_DAYS] >> (day % WORD_DAYS) & 1 == 1)
    }

    /// Says whether `day` is suitable for `key`.
    ///
    /// # Panics
    /// When the key or the day is outside the sky.
    pub fn set(&mut self, key: usize, day: usize, suitable: bool) {
        assert!(key < self.keys && day < self.days, "key {key}, day {day} outside the sky");
        let word = &mut self.words[key * self.words_per_key + day / WORD_DAYS];
        let bit = 1 << (day % WORD_DAYS);
        if suitable { *word |= bit } else { *word &= !bit }
    }

    /// Number of suitable days of `key` from `from_day` up to, not counting, `to_day`. Days past the end of
    /// the season are none; `to_day` before `from_day` is none.
    ///
    /// # Panics
    /// When the key is outside the sky.
    #[must_use]
    pub fn count(&self, key: usize, from_day: usize, to_day: usize) -> u32 {
        assert!(key < self.keys, "key {key} outside the sky");
        let to_day = to_day.min(self.days);
        if from_day >= to_day {
            return 0;
        }
        let row = &self.words[key * self.words_per_key..][..self.words_per_key];
        let (first, last) = (from_day / WORD_DAYS, (to_day - 1) / WORD_DAYS);
        let head = u64::MAX << (from_day % WORD_DAYS);
        let tail = u64::MAX >> (WORD_DAYS - 1 - (to_day - 1) % WORD_DAYS);
        if first == last {
            return (row[first] & head & tail).count_ones();
        }
        let middle: u32 = row[first + 1..last].iter().map(|word| word.count_ones()).sum();
        (row[first] & head).count_ones() + middle + (row[last] & tail).count_ones()
    }

    /// The 64 days from `word * 64` of `key`, the first in the lowest bit; days past the end are 0.
    ///
    /// # Panics
    /// When the key or the word is outside the sky.
    #[inline]
    #[must_use]
    pub fn word(&self, key: usize, word: usize) -> u64 {
        assert!(word < self.words_per_key, "word {word} outside the sky");
        self.words[key * self.words_per_key + word]
    }

    /// Number of days from `from_day` up to, not counting, `to_day` that suit all of `keys`.
    ///
    /// # Panics
    /// When a key or `to_day` is outside the sky.
    #[must_use]
    pub fn count_all(
        &self,
        keys: impl Iterator<Item = usize> + Clone,
        from_day: usize,
        to_day: usize,
    ) -> u32 {
        (from_day / WORD_DAYS..to_day.div_ceil(WORD_DAYS))
            .map(|word| {
                let first = (word * WORD_DAYS).max(from_day) - word * WORD_DAYS;
                let past = to_day.min((word + 1) * WORD_DAYS) - word * WORD_DAYS;
                if first >= past {
                    return 0;
                }
                let within = (u64::MAX << first) & (u64::MAX >> (WORD_DAYS - past));
                keys.clone().fold(within, |days, key| days & self.word(key, word)).count_ones()
            })
            .sum()
    }

    /// Makes this a sky of `keys` and `days`, none suitable, in the memory it has.
    pub(crate) fn reset(&mut self, keys: usize, days: usize) {
        self.keys = keys;
        self.days = days;
        self.words_per_key = days.div_ceil(WORD_DAYS);
        self.words.clear();
        self.words.resize(keys * self.words_per_key, 0);
        self.source = SkySource::Given;
        self.places.clear();
        self.minutes.clear();
    }

    /// Writes the 64 days from `word * 64` of `key`. Bits past the last day must be 0.
    #[inline]
    pub(crate) fn set_word(&mut self, key: usize, word: usize, bits: u64) {
        self.words[key * self.words_per_key + word] = bits;
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        /// What suits several keys at once is counted over words as over days.
        #[test]
        fn days_that_suit_all_are_counted(days in prop::collection::vec((any::<bool>(), any::<bool>()), 1..300), from in 0usize..300, to in 0usize..300) {
            let keys = [days.iter().map(|day| day.0).collect::<Vec<_>>(), days.iter().map(|day| day.1).collect()];
            let sky = Sky::from_days(&keys);
            let to = to.min(days.len());
            let by_day = days.iter().take(to).skip(from).filter(|day| day.0 && day.1).count();
            prop_assert_eq!(sky.count_all([0, 1].into_iter(), from, to), by_day as u32);
        }

        /// The count over words is the count over days, for every range.
        #[test]
        fn count_is_the_sum_of_its_days(
            rows in (1usize..200).prop_flat_map(|days| {
                prop::collection::vec(prop::collection::vec(any::<bool>(), days), 1..4)
            }),
            from in 0usize..220,
            to in 0usize..220,
        ) {
            let sky = Sky::from_days(&rows);
            for (key, row) in rows.iter().enumerate() {
                let want = (from..to.min(row.len())).filter(|day| row[*day]).count();
                prop_assert_eq!(sky.count(key, from, to) as usize, want);
                for (day, suitable) in row.iter().enumerate() {
                    prop_assert_eq!(sky.suitable(key, day), *suitable);
                }
            }
        }
    }

    #[test]
    fn a_day_can_be_taken_back() {
        let mut sky = Sky::new(2, 100);
        sky.set(1, 70, true);
        assert_eq!((sky.count(0, 0, 100), sky.count(1, 0, 100)), (0, 1));
        sky.set(1, 70, false);
        assert_eq!(sky, Sky::new(2, 100));
    }
}
