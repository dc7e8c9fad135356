//! The words that mean something in a line for the record.

/// What a word means.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Word {
    Fed,
    Water,
    Gas,
    Temp,
    Ph,
    Methane,
    Burns,
    Acids,
    Alkalinity,
    Wet,
    Dry,
    Lime,
    Raw,
    On,
    At,
    Today,
    Yesterday,
    Tomorrow,
    Not,
    Note,
    Filler,
}

const WORDS: &[(&str, Word)] = &[
    ("fed", Word::Fed),
    ("feed", Word::Fed),
    ("water", Word::Water),
    ("gas", Word::Gas),
    ("bell", Word::Gas),
    ("temp", Word::Temp),
    ("temperature", Word::Temp),
    ("tank", Word::Temp),
    ("ph", Word::Ph),
    ("methane", Word::Methane),
    ("ch4", Word::Methane),
    ("burns", Word::Burns),
    ("burn", Word::Burns),
    ("burnt", Word::Burns),
    ("flame", Word::Burns),
    ("acids", Word::Acids),
    ("acid", Word::Acids),
    ("vfa", Word::Acids),
    ("alkalinity", Word::Alkalinity),
    ("alk", Word::Alkalinity),
    ("wet", Word::Wet),
    ("dry", Word::Dry),
    ("lime", Word::Lime),
    ("raw", Word::Raw),
    ("on", Word::On),
    ("date", Word::On),
    ("at", Word::At),
    ("time", Word::At),
    ("today", Word::Today),
    ("yesterday", Word::Yesterday),
    ("tomorrow", Word::Tomorrow),
    ("no", Word::Not),
    ("not", Word::Not),
    ("doesn't", Word::Not),
    ("doesnt", Word::Not),
    ("didn't", Word::Not),
    ("won't", Word::Not),
    ("note", Word::Note),
    ("remark", Word::Note),
    ("does", Word::Filler),
    ("did", Word::Filler),
    ("and", Word::Filler),
    ("after", Word::Filler),
    ("the", Word::Filler),
    ("is", Word::Filler),
    ("was", Word::Filler),
    ("of", Word::Filler),
    ("=", Word::Filler),
    ("+", Word::Filler),
    ("about", Word::Filler),
    ("yes", Word::Filler),
    ("well", Word::Filler),
];

/// Shorter words are too easily taken for another \[letters\].
pub(super) const LONG_ENOUGH: usize = 4;

/// The meaning of a word.
pub(super) fn exact(lower: &str) -> Option<Word> {
    WORDS
        .iter()
        .find(|(w, _)| *w == lower)
        .map(|(_, word)| *word)
}

/// The word that another is most like, and how much (0 nothing alike, 1 equal).
pub(super) fn near(lower: &str) -> Option<(f64, &'static str, Word)> {
    telling()
        .map(|(w, word)| (strsim::jaro_winkler(lower, w), w, word))
        .max_by(|a, b| a.0.total_cmp(&b.0))
}

/// The word that was most likely meant: one that begins so, or one few slips of the pen away; none where all are far.
pub(super) fn meant(lower: &str) -> Option<&'static str> {
    let begun = telling().find(|(w, _)| lower.len() + 1 >= LONG_ENOUGH && w.starts_with(lower));
    let slips = |w: &str| strsim::damerau_levenshtein(lower, w);
    let most = |w: &str| w.len() / LETTERS_A_SLIP;
    let close = telling().filter(|(w, _)| slips(w) <= most(w));
    begun
        .or_else(|| close.min_by_key(|(w, _)| slips(w)))
        .map(|(w, _)| w)
}

/// Words that say something and are long enough not to be like every other.
fn telling() -> impl Iterator<Item = (&'static str, Word)> {
    let words = WORDS.iter().copied();
    words.filter(|(w, word)| w.len() >= LONG_ENOUGH && *word != Word::Filler)
}

/// A word is meant where it takes no more than one slip for so many of its letters.
const LETTERS_A_SLIP: usize = 4;
