//! Days and hours as people write them; which of day and month comes first is told by the whole column.

use jiff::civil::{Date, date};

/// First letters of the months.
const MONTHS: [&str; 12] = [
    "jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec",
];

/// A day as it is written, before it is known which number is the month.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Written {
    /// Year first, or the month by name: nothing to guess.
    Clear(Date),
    /// Two numbers and a year, between dots.
    Dotted(i8, i8, i16),
    /// Two numbers and a year, between slashes or hyphens.
    Slashed(i8, i8, i16),
}

/// What stands in a cell of days.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Moment {
    pub(crate) day: Written,
    /// Hour of the day, where the cell has one.
    pub(crate) hour: Option<f64>,
}

/// How a column is to be read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Order {
    /// Month before day, between slashes or hyphens.
    pub(crate) month_first: bool,
    /// What it was taken for.
    pub(crate) name: String,
    /// Why, where it had to be guessed: a full sentence.
    pub(crate) guess: Option<String>,
}

/// Reads a cell; `None` where it holds no day.
pub(crate) fn read(cell: &str) -> Option<Moment> {
    let cell = cell.trim();
    let (front, hour) = match cell.split_once('T').filter(|(f, _)| f.len() == 10) {
        Some((front, clock)) => (front, Some(clock)),
        None => match cell.rsplit_once(' ').filter(|(_, c)| c.contains(':')) {
            Some((front, clock)) => (front, Some(clock)),
            None => (cell, None),
        },
    };
    let hour = match hour {
        Some(clock) => Some(self::hour(clock.trim_end_matches('Z'))?),
        None => None,
    };
    Some(Moment {
        day: written(front.trim())?,
        hour,
    })
}

fn written(text: &str) -> Option<Written> {
    let is_mark = |c: char| matches!(c, '.' | '/' | '-' | ' ' | ',');
    let mark = text.chars().find(|c| is_mark(*c))?;
    let parts: Vec<&str> = text.split(is_mark).filter(|p| !p.is_empty()).collect();
    let [a, b, c] = parts.as_slice() else {
        return None;
    };
    if let Some(month) = month(b) {
        return Some(Written::Clear(on(year(c)?, month, a.parse().ok()?)?));
    }
    if let Some(month) = month(a) {
        return Some(Written::Clear(on(year(c)?, month, b.parse().ok()?)?));
    }
    let digits = parts.iter().all(|p| p.bytes().all(|b| b.is_ascii_digit()));
    if !digits {
        return None;
    }
    if a.len() == 4 {
        let day = on(a.parse().ok()?, b.parse().ok()?, c.parse().ok()?)?;
        return Some(Written::Clear(day));
    }
    let (a, b, year) = (a.parse().ok()?, b.parse().ok()?, year(c)?);
    match mark {
        '.' | ' ' => Some(Written::Dotted(a, b, year)),
        _ => Some(Written::Slashed(a, b, year)),
    }
}

/// Two digits mean this century.
fn year(text: &str) -> Option<i16> {
    let value: i16 = text.parse().ok()?;
    match text.len() {
        2 => Some(2000 + value),
        4 => Some(value),
        _ => None,
    }
}

fn month(word: &str) -> Option<i8> {
    let head = word.get(..3)?.to_lowercase();
    let i = MONTHS.iter().position(|m| *m == head)?;
    i8::try_from(i + 1).ok()
}

fn on(year: i16, month: i8, day: i8) -> Option<Date> {
    Date::new(year, month, day).ok()
}

impl Written {
    /// The day, read in this order.
    pub(crate) fn date(self, month_first: bool) -> Option<Date> {
        match self {
            Self::Clear(date) => Some(date),
            Self::Slashed(a, b, year) if month_first => on(year, a, b),
            Self::Dotted(a, b, year) | Self::Slashed(a, b, year) => on(year, b, a),
        }
    }
}

/// Hour of the day, 0 to below 24: `8`, `8.5`, `8:30`, `8:30 pm`.
pub(crate) fn hour(text: &str) -> Option<f64> {
    let lower = text.trim().to_lowercase();
    let (text, shift) = match (lower.strip_suffix("pm"), lower.strip_suffix("am")) {
        (Some(front), _) => (front.trim(), Some(12.0)),
        (_, Some(front)) => (front.trim(), Some(0.0)),
        _ => (lower.trim_end_matches('h').trim(), None),
    };
    let hour = match text.split_once([':', 'h']) {
        Some((hours, rest)) => {
            let minutes = rest.split(':').next().unwrap_or("");
            let whole = |t: &str, below: u32| t.parse::<u32>().ok().filter(|v| *v < below);
            f64::from(whole(hours, 24)?) + f64::from(whole(minutes, 60)?) / 60.0
        }
        None => text.replace(',', ".").parse().ok()?,
    };
    let hour = match shift {
        Some(shift) if (1.0..13.0).contains(&hour) => hour % 12.0 + shift,
        Some(_) => return None,
        None => hour,
    };
    (0.0..24.0).contains(&hour).then_some(hour)
}

/// Whether a number may be the count of days by which spreadsheets keep a date (1 January 2000 to 2100).
pub(crate) fn is_day_count(cell: &str) -> bool {
    cell.trim()
        .parse::<f64>()
        .is_ok_and(|v| (36_526.0..73_051.0).contains(&v))
}

/// Decides how the days of a column are to be read.
pub(crate) fn order(cells: &[Written]) -> Order {
    let slashed: Vec<(i8, i8)> = cells
        .iter()
        .filter_map(|w| match w {
            Written::Slashed(a, b, _) => Some((*a, *b)),
            _ => None,
        })
        .collect();
    let mut kinds = Vec::new();
    if cells.iter().any(|w| matches!(w, Written::Clear(_))) {
        kinds.push("year-month-day");
    }
    if cells.iter().any(|w| matches!(w, Written::Dotted(..))) {
        kinds.push("day.month.year");
    }
    let day_only = slashed.iter().filter(|(a, b)| *a > 12 && *b <= 12).count();
    let month_only = slashed.iter().filter(|(a, b)| *b > 12 && *a <= 12).count();
    let (month_first, guess) = match day_only.cmp(&month_only) {
        std::cmp::Ordering::Greater => (false, mixed(month_only)),
        std::cmp::Ordering::Less => (true, mixed(day_only)),
        std::cmp::Ordering::Equal if slashed.is_empty() => (false, None),
        std::cmp::Ordering::Equal => by_course(cells),
    };
    if !slashed.is_empty() {
        kinds.push(if month_first {
            "month/day/year"
        } else {
            "day/month/year"
        });
    }
    Order {
        month_first,
        name: kinds.join(" and "),
        guess,
    }
}

fn mixed(others: usize) -> Option<String> {
    (others > 0)
        .then(|| format!("{others} days of the column fit only the other order of day and month."))
}

/// Neither order is impossible: the one in which days run forward evenly, else the day first.
fn by_course(cells: &[Written]) -> (bool, Option<String>) {
    let course = |month_first: bool| {
        let days: Vec<Date> = cells.iter().filter_map(|w| w.date(month_first)).collect();
        let back = days.windows(2).filter(|pair| pair[1] < pair[0]).count();
        let first = days.iter().min().copied().unwrap_or(date(2000, 1, 1));
        let last = days.iter().max().copied().unwrap_or(first);
        let missing = cells.len() - days.len();
        (missing, back, days_between(first, last))
    };
    let (day, month) = (course(false), course(true));
    let (month_first, why) = match day.cmp(&month) {
        std::cmp::Ordering::Greater => (true, "the days then run on more evenly"),
        std::cmp::Ordering::Less => (false, "the days then run on more evenly"),
        std::cmp::Ordering::Equal => (false, "nothing in the column tells"),
    };
    let order = if month_first {
        "month before day"
    } else {
        "day before month"
    };
    let guess = format!(
        "Day and month could be either way round; taken as {order}, for {why}. Write 2026-04-30 to be sure."
    );
    (month_first, Some(guess))
}

/// Days from one date to another; negative when the second lies before the first.
pub(crate) fn days_between(from: Date, to: Date) -> i32 {
    from.until(to).map_or(0, |span| span.get_days())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn column(cells: &[&str]) -> (Vec<Option<Date>>, Order) {
        let written: Vec<Written> = cells.iter().map(|c| read(c).unwrap().day).collect();
        let order = order(&written);
        let dates = written.iter().map(|w| w.date(order.month_first)).collect();
        (dates, order)
    }

    #[test]
    fn one_date_in_many_shapes() {
        for cell in [
            "2026-04-30",
            "2026/4/30",
            "30.4.2026",
            "30.04.26",
            "30/04/2026",
            "4/30/2026",
            "30-Apr-26",
            "30 April 2026",
            "Apr 30, 2026",
            "2026-04-30T08:15",
            "30.4.2026 08:15",
        ] {
            assert_eq!(column(&[cell]).0, [Some(date(2026, 4, 30))], "{cell}");
        }
        for cell in [
            "",
            "soon",
            "30.4.",
            "2026-02-30",
            "1/2/3",
            "2026-04-30 25:00",
        ] {
            assert_eq!(read(cell), None, "{cell}");
        }
        assert_eq!(read("2026-04-30T08:15").unwrap().hour, Some(8.25));
    }

    #[test]
    fn one_clear_day_decides_the_column() {
        let (dates, order) = column(&["01/05/2026", "02/05/2026", "13/05/2026"]);
        assert_eq!(dates[0], Some(date(2026, 5, 1)));
        assert_eq!(order.name, "day/month/year");
        assert_eq!(order.guess, None);
        let (dates, order) = column(&["5/1/2026", "5/2/2026", "5/13/2026"]);
        assert_eq!(dates[0], Some(date(2026, 5, 1)));
        assert_eq!(order.name, "month/day/year");
    }

    #[test]
    fn otherwise_the_course_of_the_days_does() {
        // 1, 2, 3 May read one way; 5 January, 5 February, 5 March the other.
        let (dates, order) = column(&["5/1/2026", "5/2/2026", "5/3/2026"]);
        assert_eq!(dates[2], Some(date(2026, 5, 3)));
        assert!(order.guess.unwrap().contains("month before day"));
        let (dates, order) = column(&["4/4/2026"]);
        assert_eq!(dates[0], Some(date(2026, 4, 4)));
        assert!(order.guess.unwrap().contains("nothing in the column tells"));
    }

    #[test]
    fn hours() {
        for (text, value) in [
            ("8", 8.0),
            ("8:30", 8.5),
            ("08:30:15", 8.5),
            ("8,5", 8.5),
            ("8 h", 8.0),
            ("8:30 pm", 20.5),
            ("12 am", 0.0),
            ("12:15pm", 12.25),
        ] {
            assert_eq!(hour(text), Some(value), "{text}");
        }
        for text in ["24", "25:00", "8:60", "-1", "", "nan", "13 pm", "noon"] {
            assert_eq!(hour(text), None, "{text}");
        }
    }
}
