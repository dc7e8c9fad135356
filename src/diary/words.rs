//! A line for the record in plain words, as one types it at the tank: `fed 2 kg kitchen-scraps gas 310 ph 7.1`.

mod vocabulary;

use jiff::civil::Date;

use super::read::{
    Decimal, Feeds, Quantity, feeds, hour, known_material, may_be_thousands, measured,
    out_of_reach, split, taken_for, written_day,
};
use super::record::{Entry, GasReading};
use crate::feedstock::library;
use vocabulary::{LONG_ENOUGH, Word, exact, meant, near};

/// What a sentence was understood to say.
#[derive(Debug, Clone, PartialEq)]
pub struct Understood {
    /// The line for the record.
    pub entry: Entry,
    /// What was guessed or is doubtful, in full sentences.
    pub notes: Vec<String>,
    /// Feeds that the library does not know.
    pub unknown: Vec<Stranger>,
    /// Feeds that it knows by another name: as written, and what they are taken for, as the end of a sentence.
    pub taken: Vec<(String, String)>,
}

/// A feed that is no material of the library: one of the owner's, or a slip.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Stranger {
    /// As it was written.
    pub name: String,
    /// The material of the library that it is most like.
    pub nearest: Option<&'static str>,
}

/// Why a sentence cannot be taken: nothing of it is written.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum NotUnderstood {
    /// Nothing in it.
    #[error("there is nothing to write. {GRAMMAR}")]
    Empty,
    /// A word that means nothing here.
    #[error("\"{word}\" is not understood.{}", nearest.map(|n| format!(" Did you mean \"{n}\"?")).unwrap_or_else(|| format!(" {GRAMMAR}")))]
    Word {
        /// The word.
        word: String,
        /// The word it is most like.
        nearest: Option<&'static str>,
    },
    /// A word that a number must follow.
    #[error("after \"{word}\" a number is missing, such as \"{word} {example}\".")]
    Number {
        /// The word.
        word: String,
        /// How it goes.
        example: &'static str,
    },
    /// A number out of reach, or a cell of feeds that makes no sense.
    #[error("{what}: {}", ended(why))]
    Value {
        /// What it is about.
        what: String,
        /// What is wrong with it.
        why: String,
    },
    /// Something said twice.
    #[error("{what} stands twice. Write a second line for a second reading.")]
    Twice {
        /// What.
        what: &'static str,
    },
}

/// A sentence with its mark, where it has none yet.
fn ended(sentence: &str) -> String {
    match sentence.ends_with(['?', '!', '.']) {
        true => sentence.to_owned(),
        false => format!("{sentence}."),
    }
}

/// The words in one sentence.
const GRAMMAR: &str = "Words: fed AMOUNT NAME + ..., water N, temp N, gas N (at N C, N mbar, wet, dry, after lime), ph N, \
methane N, burns, no flame, acids N, alkalinity N, on DATE, at HH:MM, note and your own words to the end.";

/// Likeness from which a slip is taken for the word it is like.
const TAKEN: f64 = 0.93;
/// Understands a sentence. It is about `today` unless it says otherwise.
///
/// # Errors
/// [`NotUnderstood`], with what to write instead.
pub fn understand(sentence: &str, today: Date) -> Result<Understood, NotUnderstood> {
    let mut listener = Listener {
        words: words(sentence),
        at: 0,
        entry: Entry::blank(today),
        gas: None,
        negated: false,
        fed_nothing: false,
        said_day: false,
        notes: Vec::new(),
    };
    while listener.at < listener.words.len() {
        listener.next(sentence, today)?;
    }
    listener.finish()
}

/// A word and where it begins in the sentence.
#[derive(Debug, Clone)]
struct Spoken {
    text: String,
    lower: String,
    begin: usize,
}

/// Words by spaces; a word glued to its number (`ph7.1`, `2kg`) comes apart.
fn words(sentence: &str) -> Vec<Spoken> {
    let mut out = Vec::new();
    for piece in sentence.split_whitespace() {
        let begin = piece.as_ptr() as usize - sentence.as_ptr() as usize;
        let bare = piece.trim_end_matches([',', ';', ':']);
        let bare = if bare.is_empty() { piece } else { bare };
        let digit = bare.find(|c: char| c.is_ascii_digit());
        let glued = digit.filter(|i| *i > 0 && exact(&bare[..*i].to_lowercase()).is_some());
        let mut push = |text: &str, begin: usize| {
            out.push(Spoken {
                text: text.to_owned(),
                lower: text.to_lowercase(),
                begin,
            });
        };
        match glued {
            Some(i) if bare != "ch4" && bare != "CH4" => {
                push(&bare[..i], begin);
                push(&bare[i..], begin + i);
            }
            _ => push(bare, begin),
        }
        // A comma parts feeds as a plus does.
        if bare.len() < piece.len() && piece.ends_with([',', ';']) {
            push("+", begin + bare.len());
        }
    }
    out
}

struct Listener {
    words: Vec<Spoken>,
    at: usize,
    entry: Entry,
    gas: Option<GasReading>,
    negated: bool,
    fed_nothing: bool,
    said_day: bool,
    notes: Vec<String>,
}

impl Listener {
    fn peek(&self) -> Option<&Spoken> {
        self.words.get(self.at)
    }

    fn next(&mut self, sentence: &str, today: Date) -> Result<(), NotUnderstood> {
        let Some(spoken) = self.peek().cloned() else {
            return Ok(());
        };
        if written_day(&spoken.text).is_some() {
            return self.day(&spoken, today);
        }
        if spoken.lower.contains(':') && hour(&spoken.text).is_some() {
            return self.hour(&spoken);
        }
        if spoken
            .text
            .starts_with(|c: char| c.is_ascii_digit() || c == '-')
        {
            return self.number_first(&spoken);
        }
        let word = match exact(&spoken.lower) {
            Some(word) => word,
            None => self.guess(&spoken)?,
        };
        self.at += 1;
        self.hear(word, &spoken, sentence, today)
    }

    fn hear(
        &mut self,
        word: Word,
        spoken: &Spoken,
        sentence: &str,
        today: Date,
    ) -> Result<(), NotUnderstood> {
        match word {
            Word::Fed => return self.feeds(),
            Word::Water => {
                let value = self.measure(spoken, Quantity::Water, "2")?;
                once("water", &mut self.entry.water_l, value)?;
            }
            Word::Temp => {
                let value = self.measure(spoken, Quantity::Tank, "24")?;
                once("the temperature", &mut self.entry.temperature_c, value)?;
            }
            Word::Gas => self.gas_after(spoken)?,
            Word::Ph => {
                let value = self.measure(spoken, Quantity::Ph, "7.1")?;
                once("pH", &mut self.entry.ph, value)?;
            }
            Word::Methane => {
                let value = self.measure(spoken, Quantity::Percent, "58")?;
                once("methane", &mut self.entry.methane_pct, value)?;
            }
            Word::Acids => {
                let value = self.measure(spoken, Quantity::Acids, "900")?;
                once("acids", &mut self.entry.acids_mg_l, value)?;
            }
            Word::Alkalinity => {
                let value = self.measure(spoken, Quantity::Alkalinity, "4000")?;
                once("alkalinity", &mut self.entry.alkalinity_mg_l, value)?;
            }
            Word::Burns => {
                let not_after = self
                    .peek()
                    .is_some_and(|next| exact(&next.lower) == Some(Word::Not));
                if not_after {
                    self.at += 1;
                }
                let burns = !(self.negated || not_after);
                self.negated = false;
                once("the flame", &mut self.entry.burns, burns)?;
            }
            Word::Wet | Word::Dry => {
                let gas = self.gas_reading(spoken)?;
                once("wet or dry", &mut gas.wet, word == Word::Wet)?;
            }
            Word::Lime | Word::Raw => {
                let before = spoken_before(sentence, spoken, "before");
                let gas = self.gas_reading(spoken)?;
                once("the lime", &mut gas.lime, word == Word::Lime && !before)?;
            }
            Word::On => match self.peek().cloned() {
                Some(next) if written_day(&next.text).is_some() => return self.day(&next, today),
                Some(next)
                    if matches!(
                        exact(&next.lower),
                        Some(Word::Today | Word::Yesterday | Word::Tomorrow)
                    ) => {}
                _ => {
                    return Err(NotUnderstood::Value {
                        what: "the day".into(),
                        why: "after \"on\" comes a day, such as 2026-04-30".into(),
                    });
                }
            },
            Word::At => return self.at(spoken),
            Word::Today => self.on(today, today)?,
            Word::Yesterday => self.on(today.yesterday().unwrap_or(today), today)?,
            Word::Tomorrow => self.on(today.tomorrow().unwrap_or(today), today)?,
            Word::Not => self.negated = true,
            Word::Note => {
                let begin = spoken.begin + spoken.text.len();
                let rest = sentence.get(begin..).unwrap_or("");
                self.entry.remark = rest.trim_start_matches([':', ' ']).trim().to_owned();
                self.at = self.words.len();
            }
            Word::Filler => {}
        }
        Ok(())
    }

    fn guess(&mut self, spoken: &Spoken) -> Result<Word, NotUnderstood> {
        let found = near(&spoken.lower);
        if spoken.lower == "before" {
            return Ok(Word::Filler);
        }
        match found {
            Some((likeness, word, meant))
                if likeness >= TAKEN && spoken.lower.len() >= LONG_ENOUGH =>
            {
                self.notes
                    .push(format!("\"{}\" was taken for \"{word}\".", spoken.text));
                Ok(meant)
            }
            _ => Err(NotUnderstood::Word {
                word: spoken.text.clone(),
                nearest: meant(&spoken.lower),
            }),
        }
    }

    fn day(&mut self, spoken: &Spoken, today: Date) -> Result<(), NotUnderstood> {
        let day = written_day(&spoken.text).map(|m| m.day);
        let date = day.and_then(|d| d.date(false).or_else(|| d.date(true)));
        let Some(date) = date else {
            return Err(NotUnderstood::Value {
                what: "the day".into(),
                why: format!("\"{}\" is none of the calendar", spoken.text),
            });
        };
        self.at += 1;
        self.on(date, today)
    }

    /// Takes a day: one, and none that is still to come.
    fn on(&mut self, date: Date, today: Date) -> Result<(), NotUnderstood> {
        if std::mem::replace(&mut self.said_day, true) {
            return Err(NotUnderstood::Twice { what: "The day" });
        }
        if date > today {
            return Err(NotUnderstood::Value {
                what: "the day".into(),
                why: format!(
                    "{date} lies in the future, for today is {today} by the clock of this machine; a record tells what was"
                ),
            });
        }
        self.entry.date = date;
        Ok(())
    }

    fn hour(&mut self, spoken: &Spoken) -> Result<(), NotUnderstood> {
        self.at += 1;
        let mut text = spoken.text.clone();
        if let Some(next) = self
            .peek()
            .filter(|n| matches!(n.lower.as_str(), "am" | "pm"))
        {
            text.push_str(&next.lower);
            self.at += 1;
        }
        match hour(&text) {
            Some(value) => once("the hour", &mut self.entry.time_h, value),
            None => Err(NotUnderstood::Value {
                what: "the hour".into(),
                why: format!("\"{text}\" is none of the day"),
            }),
        }
    }

    /// `at 8:30`, `at 8 pm`, and `at 22 C` for the gas.
    fn at(&mut self, spoken: &Spoken) -> Result<(), NotUnderstood> {
        let next = self.peek().cloned();
        let Some(next) =
            next.filter(|n| n.text.starts_with(|c: char| c.is_ascii_digit() || c == '-'))
        else {
            return Err(NotUnderstood::Number {
                word: spoken.text.clone(),
                example: "8:30",
            });
        };
        let after = self.words.get(self.at + 1).map(|w| w.lower.clone());
        let unit = match split(&next.lower).1 {
            "" => after.unwrap_or_default(),
            glued => glued.to_owned(),
        };
        if Quantity::GasTemperature.unit(&unit).is_some() && self.gas.is_some() {
            return self.number_first(&next);
        }
        self.hour(&next)
    }

    /// A number that comes without its word: an amount fed, or what the gas was read at.
    fn number_first(&mut self, spoken: &Spoken) -> Result<(), NotUnderstood> {
        let glued = split(&spoken.lower).1.to_owned();
        let after = self.words.get(self.at + 1).map(|w| w.lower.clone());
        let unit = if glued.is_empty() {
            after.unwrap_or_default()
        } else {
            glued
        };
        if let Some(gas) = &mut self.gas {
            let slots = [
                (
                    Quantity::GasTemperature,
                    &mut gas.temperature_c,
                    "the gas temperature",
                ),
                (
                    Quantity::Pressure,
                    &mut gas.pressure_mbar,
                    "the gas pressure",
                ),
            ];
            for (quantity, slot, what) in slots {
                if quantity.unit(&unit).is_some() {
                    let used = if split(&spoken.lower).1.is_empty() {
                        2
                    } else {
                        1
                    };
                    let text = format!("{} {unit}", split(&spoken.lower).0);
                    let value = value(&text, quantity, what, &mut self.notes)?;
                    self.at += used;
                    return once(what, slot, value);
                }
            }
        }
        let names = !self.entry.fed.is_empty()
            || Quantity::any_unit(&unit) && Quantity::Mass.unit(&unit).is_none();
        if names || unit.is_empty() || exact(&unit).is_some() {
            return Err(NotUnderstood::Word {
                word: spoken.text.clone(),
                nearest: None,
            });
        }
        self.feeds()
    }

    fn gas_reading(&mut self, spoken: &Spoken) -> Result<&mut GasReading, NotUnderstood> {
        self.gas.as_mut().ok_or_else(|| NotUnderstood::Value {
            what: spoken.text.clone(),
            why: "it belongs behind a reading of gas, such as \"gas 310 wet\"".into(),
        })
    }

    fn gas_after(&mut self, spoken: &Spoken) -> Result<(), NotUnderstood> {
        // "gas burns", "the gas does not burn"
        let next =
            self.words.iter().skip(self.at).find(|w| {
                w.lower == "+" || !matches!(exact(&w.lower), Some(Word::Filler | Word::Not))
            });
        if next.is_some_and(|w| exact(&w.lower) == Some(Word::Burns)) {
            return Ok(());
        }
        if self.gas.is_some() {
            return Err(NotUnderstood::Twice { what: "Gas" });
        }
        let litres = if std::mem::take(&mut self.negated) {
            let number = self
                .peek()
                .filter(|n| n.text.starts_with(|c: char| c.is_ascii_digit()));
            if let Some(number) = number {
                return Err(NotUnderstood::Value {
                    what: "gas".into(),
                    why: format!("\"no\" and {} stand together", number.text),
                });
            }
            0.0
        } else if self.none_follows() {
            0.0
        } else {
            self.measure(spoken, Quantity::Gas, "310")?
        };
        self.gas = Some(GasReading {
            litres,
            temperature_c: None,
            pressure_mbar: None,
            wet: None,
            lime: None,
        });
        Ok(())
    }

    /// Takes a word for nothing, where one follows.
    fn none_follows(&mut self) -> bool {
        const NONE: [&str; 4] = ["none", "nothing", "nil", "zero"];
        let mut ahead = self.words.iter().enumerate().skip(self.at);
        let next = ahead.find(|(_, w)| exact(&w.lower) != Some(Word::Filler));
        match next {
            Some((i, word)) if NONE.contains(&word.lower.as_str()) => {
                self.at = i + 1;
                true
            }
            _ => false,
        }
    }

    /// The number behind a word, with its unit where one stands there.
    fn measure(
        &mut self,
        spoken: &Spoken,
        quantity: Quantity,
        example: &'static str,
    ) -> Result<f64, NotUnderstood> {
        while self
            .peek()
            .is_some_and(|w| exact(&w.lower) == Some(Word::Filler))
        {
            self.at += 1;
        }
        let missing = || NotUnderstood::Number {
            word: spoken.text.clone(),
            example,
        };
        let number = self.peek().cloned().ok_or_else(missing)?;
        if split(&number.text).0.is_empty() {
            return Err(missing());
        }
        self.at += 1;
        let mut text = number.text;
        if split(&text).1.is_empty()
            && let Some(next) = self.peek().filter(|n| quantity.unit(&n.lower).is_some())
        {
            text = format!("{text} {}", next.lower);
            self.at += 1;
        }
        value(&text, quantity, &spoken.lower, &mut self.notes)
    }

    /// Everything up to the next word that begins something else.
    fn feeds(&mut self) -> Result<(), NotUnderstood> {
        let mut cell = String::new();
        let mut has_amount = false;
        let mut has_name = false;
        while let Some(word) = self.peek() {
            let is_nothing = cell.is_empty() && matches!(word.lower.as_str(), "no" | "nothing");
            let begins = exact(&word.lower).is_some_and(|w| w != Word::Filler) && !is_nothing;
            if begins || written_day(&word.text).is_some() || word.lower.contains(':') {
                break;
            }
            let number = word.text.starts_with(|c: char| c.is_ascii_digit());
            if number {
                unmistakable("fed", &word.text, Quantity::Mass)?;
            }
            if number && has_amount && has_name {
                cell.push_str(" + ");
                has_name = false;
            }
            if matches!(word.lower.as_str(), "+" | "and" | "&") {
                (has_amount, has_name) = (false, false);
            } else if number {
                has_amount = true;
                has_name |= split(&word.text).1.len() > 2;
            } else if Quantity::Mass.unit(&word.lower).is_none() {
                has_name = true;
            }
            // "2 kg of scraps"
            if word.lower != "of" {
                cell.push(' ');
                cell.push_str(&word.text);
            }
            self.at += 1;
        }
        let wrong = |why: String| NotUnderstood::Value {
            what: "fed".into(),
            why,
        };
        let cell = cell.trim().trim_end_matches('+').trim();
        match feeds(cell, Decimal::Point) {
            Ok(Feeds::None) => self.fed_nothing = true,
            Ok(Feeds::Named(name)) => return Err(wrong(format!("how many kg of {name}?"))),
            Ok(Feeds::All(all)) => {
                if !self.entry.fed.is_empty() {
                    return Err(NotUnderstood::Twice { what: "Fed" });
                }
                for one in all {
                    if one.material.is_empty() {
                        return Err(wrong(format!("{} kg of what?", one.kg)));
                    }
                    within(&one.material, Quantity::Mass, one.kg, &mut self.notes)?;
                    self.entry.fed.push(one);
                }
            }
            Err(why) => return Err(wrong(format!("\"{cell}\" {why}"))),
        }
        Ok(())
    }

    fn finish(mut self) -> Result<Understood, NotUnderstood> {
        if self.negated {
            return Err(NotUnderstood::Word {
                word: "no".into(),
                nearest: Some("no flame"),
            });
        }
        self.entry.gas = self.gas;
        // A record has no zero for feeds: the line itself says that somebody was there.
        if self.fed_nothing && self.entry.fed.is_empty() && self.entry.remark.is_empty() {
            self.entry.remark = "fed nothing".into();
        }
        let bare = Entry {
            time_h: self.entry.time_h,
            ..Entry::blank(self.entry.date)
        };
        if self.entry == bare {
            return Err(NotUnderstood::Empty);
        }
        let unknown = self
            .entry
            .fed
            .iter()
            .filter(|one| known_material(&one.material).is_none())
            .map(|one| Stranger {
                name: one.material.clone(),
                nearest: library().nearest(&one.material).first().copied(),
            })
            .collect();
        let fed = self.entry.fed.iter();
        let taken = fed.filter_map(|one| Some((one.material.clone(), taken_for(&one.material)?)));
        Ok(Understood {
            taken: taken.collect(),
            entry: self.entry,
            notes: self.notes,
            unknown,
        })
    }
}

/// Whether `word` stands just before (the article left out).
fn spoken_before(sentence: &str, spoken: &Spoken, word: &str) -> bool {
    let front = sentence.get(..spoken.begin).unwrap_or("").to_lowercase();
    front
        .trim_end()
        .trim_end_matches("the")
        .trim_end()
        .ends_with(word)
}

fn once<T>(what: &'static str, slot: &mut Option<T>, value: T) -> Result<(), NotUnderstood> {
    match slot.replace(value) {
        None => Ok(()),
        Some(_) => Err(NotUnderstood::Twice { what }),
    }
}

/// Refuses a number that two people would read as two.
fn unmistakable(what: &str, text: &str, quantity: Quantity) -> Result<(), NotUnderstood> {
    if !may_be_thousands(text, quantity) {
        return Ok(());
    }
    let (digits, _) = split(text);
    Err(NotUnderstood::Value {
        what: what.to_owned(),
        why: format!(
            "\"{digits}\" may be {} or {}; write one of these",
            digits.replace(',', "."),
            digits.replace([',', '.'], "")
        ),
    })
}

fn value(
    text: &str,
    quantity: Quantity,
    what: &str,
    notes: &mut Vec<String>,
) -> Result<f64, NotUnderstood> {
    unmistakable(what, text, quantity)?;
    let mut value =
        measured(text, quantity, None, Decimal::Point).map_err(|why| NotUnderstood::Value {
            what: what.to_owned(),
            why: format!("\"{text}\" {why}"),
        })?;
    if quantity.is_warmth() && split(text).1.to_lowercase().contains('f') {
        // Nobody reads 75 F to more than that.
        value = (value * 100.0).round() / 100.0;
    }
    within(what, quantity, value, notes)?;
    Ok(value)
}

fn within(
    what: &str,
    quantity: Quantity,
    value: f64,
    notes: &mut Vec<String>,
) -> Result<(), NotUnderstood> {
    match out_of_reach(quantity, value) {
        Some((true, why)) => Err(NotUnderstood::Value {
            what: what.to_owned(),
            why: format!("{value} {why}"),
        }),
        Some((false, why)) => {
            notes.push(format!("{what}: {value} {why}. Is it right?"));
            Ok(())
        }
        None => Ok(()),
    }
}

#[cfg(test)]
mod tests;
