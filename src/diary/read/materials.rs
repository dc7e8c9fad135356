//! What was fed: amounts and names in one cell or sentence.

use super::numbers::{self, Decimal};
use super::units::Quantity;
use crate::diary::record::Fed;
use crate::feedstock::{Entry, library};

/// What people write for nothing fed.
const NOTHING: [&str; 7] = ["0", "-", "none", "nothing", "no", "pause", "nil"];

/// What a cell of feeds says.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Feeds {
    /// Nothing was fed.
    None,
    /// Names with their kilograms.
    All(Vec<Fed>),
    /// A name without an amount.
    Named(String),
}

/// Reads `2 kitchen-scraps + 1 kg cattle-dung`; the name may stand before the amount.
///
/// # Errors
/// What is wrong with it, as the end of a sentence.
pub(crate) fn feeds(cell: &str, decimal: Decimal) -> Result<Feeds, String> {
    let bare = cell.trim();
    if NOTHING.contains(&bare.to_lowercase().as_str()) {
        return Ok(Feeds::None);
    }
    let spaced = bare.replace([';', '&', '\n', '\r'], "+").replace(", ", "+");
    let parts: Vec<&str> = spaced
        .split('+')
        .flat_map(|part| part.split(" and "))
        .map(str::trim)
        .filter(|part| !part.is_empty())
        .collect();
    if let [only] = parts.as_slice()
        && !only.contains(|c: char| c.is_ascii_digit())
    {
        return Ok(Feeds::Named(name(only)));
    }
    let mut all = Vec::new();
    for part in parts {
        all.push(one(part, decimal)?);
    }
    if all.is_empty() {
        return Err("holds neither an amount nor a name".into());
    }
    Ok(Feeds::All(all))
}

fn one(part: &str, decimal: Decimal) -> Result<Fed, String> {
    let (digits, rest) = numbers::split(part);
    if !digits.is_empty() {
        let kg = numbers::plain(digits, decimal)
            .ok_or_else(|| format!("has an amount that is no number, \"{digits}\""))?;
        let (word, after) = rest.split_once(' ').unwrap_or((rest, ""));
        let (factor, material) = match Quantity::Mass.unit(word) {
            Some((factor, _)) => (factor, after),
            None => (1.0, rest),
        };
        return Ok(Fed {
            material: name(material),
            kg: kg * factor,
        });
    }
    let at = part
        .char_indices()
        .find(|(i, c)| c.is_ascii_digit() && part[..*i].ends_with([' ', ':', '=', 'x']))
        .map(|(i, _)| i)
        .ok_or_else(|| format!("has no amount for \"{part}\""))?;
    let (front, amount) = part.split_at(at);
    let kg = numbers::measured(amount, Quantity::Mass, None, decimal)
        .map_err(|why| format!("has an amount that {why}, \"{amount}\""))?;
    Ok(Fed {
        material: name(front.trim_end_matches([' ', ':', '='])),
        kg,
    })
}

/// The library's key for a material that is called by its key or its name, else the owner's own words: what an owner calls
/// it may also be a material of the owner's, and stays readable.
pub(crate) fn name(given: &str) -> String {
    let words: Vec<&str> = given
        .split(|c: char| c.is_whitespace() || c == '+' || c == ';')
        .filter(|w| !w.is_empty())
        .collect();
    let own = words.join(" ");
    keyed(&own).unwrap_or(own)
}

/// The key of a material of the library by its key, its name or another name that people use.
pub(crate) fn known(given: &str) -> Option<String> {
    let lower = given.to_lowercase();
    let also = |entry: &&Entry| entry.also.iter().any(|name| name.to_lowercase() == lower);
    keyed(given).or_else(|| library().iter().find(also).map(|entry| entry.id.clone()))
}

/// The key of a material of the library by its key or its name.
fn keyed(given: &str) -> Option<String> {
    let lower = given.to_lowercase();
    let key = lower.replace([' ', '_'], "-");
    if let Some(entry) = library().get(&key) {
        return Some(entry.id.clone());
    }
    let named = |entry: &&Entry| entry.name.to_lowercase() == lower;
    library().iter().find(named).map(|entry| entry.id.clone())
}

/// What a name is taken for that the library knows as another name of one of its materials, as the end of a sentence;
/// `None` for any other name.
pub(crate) fn taken_for(given: &str) -> Option<String> {
    let key = known(given).filter(|_| keyed(given).is_none())?;
    let entry = library().get(&key)?;
    Some(format!("{key} of the library ({})", entry.name))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(cell: &str) -> Vec<(String, f64)> {
        match feeds(cell, Decimal::Point) {
            Ok(Feeds::All(all)) => all.into_iter().map(|f| (f.material, f.kg)).collect(),
            other => panic!("{cell}: {other:?}"),
        }
    }

    #[test]
    fn amounts_and_names_in_either_order() {
        let both = vec![
            ("kitchen-scraps".to_owned(), 2.0),
            ("cattle-dung".to_owned(), 1.0),
        ];
        for cell in [
            "2 kitchen-scraps + 1 cattle-dung",
            "2 kg kitchen scraps + 1kg Cattle Dung",
            "2kg kitchen-scraps and 1000 g cattle-dung",
            "kitchen-scraps 2 kg, cattle-dung 1 kg",
            "kitchen-scraps: 2; cattle-dung: 1",
        ] {
            assert_eq!(read(cell), both, "{cell}");
        }
        assert_eq!(read("2,5 my own mash"), [("my own mash".to_owned(), 2.5)]);
        assert_eq!(read("3 kg"), [(String::new(), 3.0)]);
    }

    #[test]
    fn another_name_stays_as_it_was_written() {
        assert_eq!(read("2 kg noodles"), [("noodles".to_owned(), 2.0)]);
        assert_eq!(known("Noodles").as_deref(), Some("cooked-starch"));
        let told = taken_for("noodles").unwrap();
        assert!(told.starts_with("cooked-starch of the library ("), "{told}");
        for other in ["cooked-starch", "Cooked starch", "my own mash"] {
            assert_eq!(taken_for(other), None, "{other}");
        }
    }

    #[test]
    fn nothing_and_names_alone() {
        assert_eq!(feeds("none", Decimal::Point), Ok(Feeds::None));
        assert_eq!(
            feeds("Kitchen scraps", Decimal::Point),
            Ok(Feeds::Named("kitchen-scraps".into()))
        );
        assert!(feeds("2 a + b", Decimal::Point).is_err());
        assert!(feeds("+", Decimal::Point).is_err());
    }
}
