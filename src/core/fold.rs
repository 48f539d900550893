//! Text as it is searched: small letters without accents, so that "Zoë" is found by "zoe" and "ZOË" alike.

/// The text in small letters without accents. What is no Latin letter stays as it is.
pub fn fold(text: &str) -> String {
    let mut folded = String::with_capacity(text.len());
    for c in text.chars() {
        plain(c, &mut folded);
    }
    folded
}

/// Puts one letter behind the folded text.
pub fn plain(c: char, folded: &mut String) {
    if c.is_ascii() {
        folded.push(c.to_ascii_lowercase());
        return;
    }
    for c in c.to_lowercase() {
        match c {
            'à'..='å' | 'ā' | 'ă' | 'ą' => folded.push('a'),
            'æ' => folded.push_str("ae"),
            'ç' | 'ć' | 'ĉ' | 'ċ' | 'č' => folded.push('c'),
            'ð' | 'ď' | 'đ' => folded.push('d'),
            'è'..='ë' | 'ē' | 'ĕ' | 'ė' | 'ę' | 'ě' => folded.push('e'),
            'ĝ' | 'ğ' | 'ġ' | 'ģ' => folded.push('g'),
            'ĥ' | 'ħ' => folded.push('h'),
            'ì'..='ï' | 'ĩ' | 'ī' | 'ĭ' | 'į' | 'ı' => folded.push('i'),
            'ĵ' => folded.push('j'),
            'ķ' => folded.push('k'),
            'ĺ' | 'ļ' | 'ľ' | 'ŀ' | 'ł' => folded.push('l'),
            'ñ' | 'ń' | 'ņ' | 'ň' => folded.push('n'),
            'ò'..='ö' | 'ø' | 'ō' | 'ŏ' | 'ő' => folded.push('o'),
            'œ' => folded.push_str("oe"),
            'ŕ' | 'ŗ' | 'ř' => folded.push('r'),
            'ś' | 'ŝ' | 'ş' | 'š' | 'ș' => folded.push('s'),
            'ß' => folded.push_str("ss"),
            'þ' => folded.push_str("th"),
            'ţ' | 'ť' | 'ŧ' | 'ț' => folded.push('t'),
            'ù'..='ü' | 'ũ' | 'ū' | 'ŭ' | 'ů' | 'ű' | 'ų' => folded.push('u'),
            'ŵ' => folded.push('w'),
            'ý' | 'ÿ' | 'ŷ' => folded.push('y'),
            'ź' | 'ż' | 'ž' => folded.push('z'),
            // An accent that stands apart from its letter.
            '\u{300}'..='\u{36f}' => {}
            other => folded.push(other),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn accents_and_case_do_not_count() {
        for text in ["Zoë", "ZOE", "zoé", "Zoe\u{308}"] {
            assert_eq!(fold(text), "zoe", "{text}");
        }
        assert_eq!(fold("Łódź, Straße, Ångström, Œuvre"), "lodz, strasse, angstrom, oeuvre");
        assert_eq!(fold("İzmir 船"), "izmir 船");
    }

    proptest! {
        #[test]
        fn folding_twice_is_folding_once(text in ".{0,40}") {
            let once = fold(&text);
            prop_assert_eq!(fold(&once), once);
        }
    }
}
