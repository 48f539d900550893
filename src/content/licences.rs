//! The licences of what others wrote and this app holds: a list that `tools/licences.mjs` writes when the app is built.

use serde::Deserialize;

/// The whole list, by name.
#[derive(Clone, Debug, Deserialize, PartialEq, Eq)]
pub struct Licences {
    pub packages: Vec<Package>,
    /// Each text once.
    texts: Vec<String>,
}

/// One package.
#[derive(Clone, Debug, Deserialize, PartialEq, Eq)]
pub struct Package {
    pub name: String,
    pub version: String,
    /// The licence as an SPDX expression, as the package says it.
    pub licence: String,
    /// Who wrote it, as the package says; may be empty.
    pub by: String,
    /// Its texts, as places in the list of texts.
    texts: Vec<usize>,
    /// Has it no text of its own? Then its text is the wording of the licence that it names.
    pub lent: bool,
}

impl Licences {
    /// The list out of its text. None where it is not such a list, or points to a text that is not there.
    pub fn read(text: &str) -> Option<Licences> {
        let blob: serde_json::Value = serde_json::from_str(text).ok()?;
        let list: Licences = serde_json::from_value(blob).ok()?;
        let is_whole = list.packages.iter().flat_map(|package| &package.texts).all(|at| *at < list.texts.len());
        is_whole.then_some(list)
    }

    /// The texts of one package.
    pub fn texts_of(&self, package: &Package) -> Vec<String> {
        package.texts.iter().filter_map(|at| self.texts.get(*at).cloned()).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const LIST: &str = r#"{ "packages": [
        { "name": "one", "version": "1.0.0", "licence": "MIT", "by": "", "texts": [1], "lent": false },
        { "name": "two", "version": "0.2.0", "licence": "MIT OR Apache-2.0", "by": "Somebody", "texts": [0, 1], "lent": true }
    ], "texts": ["first", "second"] }"#;

    #[test]
    fn a_package_has_its_texts() {
        let list = Licences::read(LIST).unwrap();
        assert_eq!(list.texts_of(&list.packages[0]), ["second"]);
        assert_eq!(list.texts_of(&list.packages[1]), ["first", "second"]);
    }

    #[test]
    fn a_list_that_is_not_whole_is_none() {
        assert_eq!(Licences::read(&LIST.replace("[1]", "[2]")), None);
        assert_eq!(Licences::read("<html>"), None);
        assert_eq!(Licences::read("{}"), None);
    }
}
