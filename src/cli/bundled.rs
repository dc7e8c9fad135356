//! The scenarios that come inside the program: the files of `scenarios/`, one line each.

/// A scenario of `scenarios/`.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Bundled {
    /// File name without its ending.
    pub(super) name: &'static str,
    /// The file's text.
    pub(super) text: &'static str,
}

macro_rules! bundle {
    ($($name:literal),* $(,)?) => {
        &[$(Bundled { name: $name, text: include_str!(concat!("../../scenarios/", $name, ".json")) }),*]
    };
}

/// All of them, in the order in which they are listed.
pub(super) const BUNDLED: &[Bundled] = bundle![
    "warm-tote",
    "manure-start",
    "overfeed-recovers",
    "overfeed-sours",
    "retention-sixty-days",
    "unheated-year",
    "cold-yard",
    "heated-tote",
    "winter-engine",
    "school-bottle",
    "benchmark-stream",
];

/// The scenario of this name.
pub(super) fn find(name: &str) -> Option<&'static Bundled> {
    BUNDLED.iter().find(|bundled| bundled.name == name)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_list_is_the_folder() {
        let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("scenarios");
        let mut files: Vec<String> = std::fs::read_dir(folder)
            .unwrap()
            .map(|entry| entry.unwrap().file_name().into_string().unwrap())
            .filter_map(|name| name.strip_suffix(".json").map(str::to_owned))
            .collect();
        let mut listed: Vec<&str> = BUNDLED.iter().map(|bundled| bundled.name).collect();
        files.sort();
        listed.sort_unstable();
        assert_eq!(listed, files);
    }
}
