//! The nearest right name to a wrong one.

/// Jaro-Winkler likeness from which a name is worth offering (0 nothing alike, 1 equal).
const LIKE: f64 = 0.75;

/// The name most like `given`, if any is like it.
pub(super) fn nearest<'a>(given: &str, names: impl IntoIterator<Item = &'a str>) -> Option<String> {
    let given = given.to_lowercase();
    names
        .into_iter()
        .map(|name| (strsim::jaro_winkler(&given, name), name))
        .filter(|(likeness, _)| *likeness >= LIKE)
        .max_by(|a, b| a.0.total_cmp(&b.0))
        .map(|(_, name)| name.to_owned())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_slip_finds_its_name_and_nonsense_finds_none() {
        let names = ["tote", "drum", "bottle", "row-of-totes"];
        assert_eq!(nearest("Totte", names).as_deref(), Some("tote"));
        assert_eq!(nearest("drumm", names).as_deref(), Some("drum"));
        assert_eq!(nearest("xyz", names), None);
    }
}
