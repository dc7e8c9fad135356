//! From JSON values to the raw scenario: unknown keys and values of the wrong kind, all of them at once.

use std::collections::{HashMap, HashSet};

use jiff::civil::Date;
use serde::de::DeserializeOwned;
use serde_json::{Value, json};

use super::address::{Address, Step};
use super::calendar::{days_between, parse_date};
use super::near::{listed, nearest, sharing};
use super::problem::{Problem, shown};
use super::slips::is_json_number;

/// How often the reading is taken up again after a problem.
const ROUNDS: usize = 60;

/// What came of the reading.
pub(crate) struct Kinds<T> {
    /// The file without the keys that nobody knows and the values of the wrong kind; `None` when nothing is left.
    pub(crate) raw: Option<T>,
    /// Written addresses of the values of the wrong kind.
    pub(crate) dropped: Vec<String>,
    /// Everything that is wrong, without lines.
    pub(crate) problems: Vec<Problem>,
    /// Written addresses of the keys that nobody knows.
    pub(crate) unknown: HashSet<String>,
    /// Written addresses that the author seems to have meant by unknown keys.
    pub(crate) meant: HashSet<String>,
}

/// Reads a raw scenario or another raw file, mending a copy as it goes so that one problem does not hide the next.
pub(crate) fn read<T: DeserializeOwned>(value: &Value, file: &str) -> Kinds<T> {
    let mut value = value.clone();
    let mut reader = Reader {
        file,
        told: HashMap::new(),
        problems: Vec::new(),
        unknown: HashSet::new(),
        meant: HashSet::new(),
        dropped: Vec::new(),
        start: value.get("start_date").and_then(date),
    };
    for _ in 0..ROUNDS {
        match serde_path_to_error::deserialize::<_, T>(&value) {
            Ok(raw) => {
                return reader.finish(Some(raw));
            }
            Err(error) => {
                let at = address(error.path());
                let message = error.inner().to_string();
                if !reader.take(&mut value, &at, &message) {
                    break;
                }
            }
        }
    }
    reader.finish(None)
}

impl<T> Kinds<T> {
    /// Whether a problem of the further checks only follows from what has been told here.
    pub(crate) fn explain(&self, problem: &Problem) -> bool {
        let path = problem.path.as_str();
        let missing = self.dropped.iter().chain(&self.meant);
        if missing
            .into_iter()
            .any(|at| at == path || within(path, at) || within(at, path))
        {
            return true;
        }
        let lost = self.dropped.iter().chain(&self.unknown);
        if lost.into_iter().any(|at| is_called(at, problem)) {
            return true;
        }
        self.dropped.iter().any(|at| {
            let name = at.split_once('.').map_or("", |(_, name)| name);
            match at.as_str() {
                "start_date" => problem.mend.contains("\"start_date\""),
                "model.network" => within(path, "model.parameters") || within(path, "inflow"),
                "recipes" | "materials" => problem.why.starts_with("There is no"),
                _ => problem
                    .value
                    .as_ref()
                    .is_some_and(|v| *v == format!("\"{name}\"")),
            }
        })
    }
}

/// Whether a problem only misses an appliance that stands, with a fault, at the written address `at`, or holds it.
fn is_called(at: &str, problem: &Problem) -> bool {
    if !problem.why.starts_with("There is no appliance") {
        return false;
    }
    let Ok(at) = at.parse::<Address>() else {
        return false;
    };
    let keys: Vec<&str> = at
        .steps()
        .iter()
        .filter_map(|step| match step {
            Step::Key(key) => Some(key.as_str()),
            Step::Index(_) => None,
        })
        .collect();
    match keys.as_slice() {
        ["plant", "appliances"] => true,
        ["plant", "appliances", name, ..] => {
            problem.value.as_deref() == Some(format!("\"{}\"", shown(name)).as_str())
        }
        _ => false,
    }
}

/// Whether the written address `inner` lies within `outer`, which is not the scenario as a whole.
fn within(inner: &str, outer: &str) -> bool {
    let rest = inner.strip_prefix(outer).filter(|_| !outer.is_empty());
    rest.is_some_and(|rest| rest.starts_with(['.', '[']))
}

/// A value as a date.
fn date(value: &Value) -> Option<Date> {
    value.as_str().and_then(parse_date)
}

/// What can stand for a list's element while the rest is read.
fn stand_ins() -> [Value; 4] {
    [json!({}), json!(0), json!(""), json!({"pause": {}})]
}

struct Reader<'a> {
    file: &'a str,
    /// How often each address was mended.
    told: HashMap<Address, usize>,
    problems: Vec<Problem>,
    unknown: HashSet<String>,
    meant: HashSet<String>,
    dropped: Vec<String>,
    /// Date of day 0.
    start: Option<Date>,
}

impl Reader<'_> {
    fn finish<T>(self, raw: Option<T>) -> Kinds<T> {
        Kinds {
            raw,
            dropped: self.dropped,
            problems: self.problems,
            unknown: self.unknown,
            meant: self.meant,
        }
    }

    /// Notes one problem and takes it out of the way; `false` when there is nothing left to read.
    fn take(&mut self, value: &mut Value, at: &Address, message: &str) -> bool {
        if let Some(key) = message.strip_prefix("unknown field `").map(before_backtick) {
            let group = holder(value, at, key);
            let full = group.key(key);
            self.unknown_key(&full, key, message);
            return remove(value, &full);
        }
        let at = &standing(value, at);
        let follows = self.told.keys().any(|known| is_within(known, at));
        if !follows {
            self.dropped.push(at.to_string());
            let found = value_at(value, at).cloned().unwrap_or(Value::Null);
            let mut problem = wrong_kind(self.file, at, &found, message);
            if let Some(day) = date(&found).filter(|_| is_day(at)) {
                problem.mend = self.day_of(day);
            }
            self.problems.push(problem);
        }
        self.mend(value, at)
    }

    /// What to write in place of a date where a day belongs.
    fn day_of(&self, date: Date) -> String {
        match self.start.map(|start| days_between(start, date)) {
            Some(day) => format!("Days are counted from 0, the start: {date} is day {day}."),
            None => {
                "Days are counted from 0, the start; with \"start_date\" this message tells the day of a date.".to_owned()
            }
        }
    }

    fn unknown_key(&mut self, full: &Address, key: &str, message: &str) {
        let known: Vec<&str> = expected(message);
        // A word in common tells more than letters that look alike.
        let shared = sharing(key, known.iter().copied());
        let near = nearest(key, known.iter().copied())
            .filter(|near| shared.is_none() || sharing(key, [*near]).is_some());
        let mend = match (near, full.split_last()) {
            (Some(near), Some((group, _))) => {
                self.meant.insert(group.key(near).to_string());
                format!("Did you mean \"{near}\"?")
            }
            _ => shared.map_or_else(String::new, |near| format!("Did you mean \"{near}\"?")),
        };
        self.unknown.insert(full.to_string());
        self.problems.push(Problem {
            file: self.file.to_owned(),
            path: full.to_string(),
            allowed: Some(listed(known.iter().copied(), 20)),
            why: "Nobody knows this key.".to_owned(),
            mend,
            ..Problem::default()
        });
    }

    fn mend(&mut self, value: &mut Value, at: &Address) -> bool {
        let rounds = self.told.entry(at.clone()).or_insert(0);
        *rounds += 1;
        let Some((around, last)) = at.split_last() else {
            return false;
        };
        match last {
            Step::Key(_) => remove(value, at) || self.mend(value, &around),
            Step::Index(_) => {
                let stand_in = stand_ins().into_iter().nth(*rounds - 1);
                match (stand_in, value_at_mut(value, at)) {
                    (Some(stand_in), Some(place)) => {
                        *place = stand_in;
                        true
                    }
                    _ => self.mend(value, &around),
                }
            }
        }
    }
}

/// Whether a day of the run belongs there.
fn is_day(at: &Address) -> bool {
    let keys = at.steps().iter().rev().filter_map(|step| match step {
        Step::Key(key) => Some(key.as_str()),
        Step::Index(_) => None,
    });
    let last = keys.into_iter().next();
    last.is_some_and(|key| ["from_day", "to_day", "days", "day", "hottest_day"].contains(&key))
}

/// Whether `inner` lies at or within `outer`.
fn is_within(inner: &Address, outer: &Address) -> bool {
    inner.steps().starts_with(outer.steps())
}

fn address(path: &serde_path_to_error::Path) -> Address {
    use serde_path_to_error::Segment;
    path.iter()
        .fold(Address::default(), |at, segment| match segment {
            Segment::Seq { index } => at.index(*index),
            Segment::Map { key } => at.key(key),
            Segment::Enum { variant } => at.key(variant),
            Segment::Unknown => at,
        })
}

/// The address, or the innermost one around it at which something stands: a bare name of a choice has no inside.
fn standing(value: &Value, at: &Address) -> Address {
    let mut at = at.clone();
    while value_at(value, &at).is_none()
        && let Some((around, _)) = at.split_last()
    {
        at = around;
    }
    at
}

/// The group that holds `key`: where the error points, or one step above it.
fn holder(value: &Value, at: &Address, key: &str) -> Address {
    let holds = |group: &Address| value_at(value, group).is_some_and(|v| v.get(key).is_some());
    match at.split_last() {
        Some((around, Step::Key(last))) if last == key && holds(&around) => around,
        _ => at.clone(),
    }
}

pub(crate) fn value_at<'a>(value: &'a Value, at: &Address) -> Option<&'a Value> {
    at.steps().iter().try_fold(value, |inner, step| match step {
        Step::Key(key) => inner.as_object()?.get(key),
        Step::Index(i) => inner.as_array()?.get(*i),
    })
}

pub(crate) fn value_at_mut<'a>(value: &'a mut Value, at: &Address) -> Option<&'a mut Value> {
    at.steps().iter().try_fold(value, |inner, step| match step {
        Step::Key(key) => inner.as_object_mut()?.get_mut(key),
        Step::Index(i) => inner.as_array_mut()?.get_mut(*i),
    })
}

fn remove(value: &mut Value, at: &Address) -> bool {
    let Some((around, Step::Key(key))) = at.split_last() else {
        return false;
    };
    value_at_mut(value, &around)
        .and_then(Value::as_object_mut)
        .is_some_and(|group| group.shift_remove(key).is_some())
}

/// The name that ends at the next backtick.
fn before_backtick(text: &str) -> &str {
    text.split_once('`').map_or(text, |(name, _)| name)
}

/// The names that a message of the reader offers.
fn expected(message: &str) -> Vec<&str> {
    message
        .rsplit_once(", expected ")
        .map_or_else(Vec::new, |(_, names)| {
            names.split('`').skip(1).step_by(2).collect()
        })
}

/// What the reader expects, and how people call it.
const EXPECTED: &[(&str, &str)] = &[
    ("f64", "a number"),
    ("a string", "text in double quotes"),
    ("a boolean", "true or false"),
    ("a sequence", "a list in [ ]"),
    ("struct", "a group in { }"),
    ("a map", "a group in { }"),
    (
        "a group of named entries",
        "a group of named entries in { }",
    ),
];

/// What suits values that somebody wrote where a file should be named.
pub(crate) const INSTEAD_OF_A_TABLE: &str = "Write { \"file\": \"weather.csv\" }. Values within the scenario go into \"points\", each \
with \"day\" and \"temperature_c\"; monthly means belong to the middle of their month: from January 1, day 15, 45, 75 and so on.";

fn wrong_kind(file: &str, at: &Address, found: &Value, message: &str) -> Problem {
    let mut problem = Problem {
        file: file.to_owned(),
        path: at.to_string(),
        value: Some(shown(&found.to_string())),
        why: "This is not what can stand here.".to_owned(),
        ..Problem::default()
    };
    if at.is_top() {
        problem.value = None;
        problem.why = "A scenario is one group in { }.".to_owned();
        return problem;
    }
    if problem.path.ends_with(".table[0]") {
        problem.path.truncate(problem.path.len() - "[0]".len());
        problem.value = None;
        problem.why = "A table is a CSV file, not a list.".to_owned();
        problem.mend = INSTEAD_OF_A_TABLE.to_owned();
        return problem;
    }
    if let Some(name) = message.strip_prefix("unknown variant `") {
        let known = expected(message);
        let name = before_backtick(name);
        problem.why = format!("Nobody knows the choice \"{}\".", shown(name));
        problem.allowed = Some(listed(known.iter().copied(), 20));
        if let Some(near) = nearest(name, known) {
            problem.mend = format!("Did you mean \"{near}\"?");
        }
        return problem;
    }
    let wanted = message
        .rsplit_once("expected ")
        .map_or("", |(_, wanted)| wanted);
    if wanted.contains("single key") || wanted == "string or map" || wanted.starts_with("enum") {
        problem.why = "A choice is a group with exactly one key.".to_owned();
        problem.mend =
            "Write one key and its value in { }; for several, write several entries.".to_owned();
        return problem;
    }
    if wanted.contains("variant") {
        problem.why = "This choice needs more than its name.".to_owned();
        problem.mend = "Write it as a group: { \"choice\": ... }.".to_owned();
        return problem;
    }
    let kind = EXPECTED
        .iter()
        .find(|(name, _)| wanted.starts_with(name))
        .map(|(_, kind)| *kind);
    if let Some(kind) = kind {
        problem.why = format!("It must be {kind}.");
        problem.mend = remedy(found, kind);
    }
    problem
}

fn remedy(found: &Value, kind: &str) -> String {
    match (found, kind) {
        (Value::String(text), "a number") => number_in_text(text.trim()),
        (Value::Number(n), "text in double quotes") => format!("Write \"{n}\"."),
        (Value::Number(n), "a list in [ ]") => format!("Write [{n}]."),
        (Value::String(text), "a list in [ ]") => format!("Write [\"{}\"].", shown(text)),
        (Value::Object(_), "a list in [ ]") => {
            "Put it in [ ], even if there is only one.".to_owned()
        }
        (Value::Array(_), "a number") => {
            "Write a single number; a decimal comma must be a point.".to_owned()
        }
        _ => String::new(),
    }
}

fn number_in_text(text: &str) -> String {
    let pointed = text.replacen(',', ".", 1);
    if is_json_number(text) {
        return format!("Write {text} without quotes.");
    }
    if is_json_number(&pointed) {
        return format!("Write {pointed}: a point instead of the comma, and no quotes.");
    }
    let digits = pointed
        .find(|c: char| !(c.is_ascii_digit() || matches!(c, '.' | '-')))
        .unwrap_or(0);
    let number = &pointed[..digits];
    if is_json_number(number) {
        return format!("Write {number} without quotes: the unit stands in the name of the key.");
    }
    "Write digits without quotes.".to_owned()
}
