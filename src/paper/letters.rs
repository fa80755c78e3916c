//! How wide each letter of the two printing faces is, and what it is called in a PDF.
//!
//! The faces are Helvetica and Helvetica-Bold, which every PDF reader has (ISO 32000-1, 9.6.2.2), so no font
//! is carried along. Letters beyond plain ones get a code when they are first used: up to 128 of them in
//! one paper, which is more than Irish, French and Polish have together. What has no letter here prints as
//! a question mark; the text and HTML forms show it as it is.

use std::collections::BTreeMap;

/// Widths are in thousandths of the size; glyph names are those of the Adobe Glyph List. Sources: the
/// published metrics of the standard faces; where these lack a letter (most of Latin Extended-A), the
/// metric-compatible Liberation Sans.
const PLAIN: [u16; 95] = [
    278, 278, 355, 556, 556, 889, 667, 191, 333, 333, 389, 584, 278, 333, 278, 278, 556, 556, 556,
    556, 556, 556, 556, 556, 556, 556, 278, 278, 584, 584, 584, 556, 1015, 667, 667, 722, 722, 667,
    611, 778, 722, 278, 500, 667, 556, 833, 722, 778, 667, 778, 722, 667, 611, 722, 667, 944, 667,
    667, 611, 278, 278, 278, 469, 556, 333, 556, 556, 500, 556, 556, 278, 556, 556, 222, 222, 500,
    222, 833, 556, 556, 556, 556, 333, 500, 278, 556, 500, 722, 500, 500, 500, 334, 260, 334, 584,
];
const PLAIN_BOLD: [u16; 95] = [
    278, 333, 474, 556, 556, 889, 722, 238, 333, 333, 389, 584, 278, 333, 278, 278, 556, 556, 556,
    556, 556, 556, 556, 556, 556, 556, 333, 333, 584, 584, 584, 611, 975, 722, 722, 722, 722, 667,
    611, 778, 722, 278, 556, 722, 611, 833, 722, 778, 667, 778, 722, 667, 611, 722, 667, 944, 667,
    667, 611, 333, 278, 333, 584, 556, 333, 556, 611, 556, 611, 556, 333, 611, 611, 278, 278, 556,
    278, 889, 611, 611, 611, 611, 389, 556, 333, 611, 556, 778, 556, 556, 500, 389, 280, 389, 584,
];
/// Letter, name, width, width in bold.
const OTHERS: &str = "\
¡ exclamdown 333 333, ¢ cent 556 556, £ sterling 556 556, ¤ currency 556 556, ¥ yen 556 556
¦ brokenbar 260 280, § section 556 556, ¨ dieresis 333 333, © copyright 737 737
ª ordfeminine 370 370, « guillemotleft 556 556, ¬ logicalnot 584 584, ® registered 737 737
¯ macron 333 333, ° degree 400 400, ± plusminus 584 584, ´ acute 333 333, µ mu 556 611
¶ paragraph 537 556, · periodcentered 278 278, ¸ cedilla 333 333, º ordmasculine 365 365
» guillemotright 556 556, ¼ onequarter 834 834, ½ onehalf 834 834, ¾ threequarters 834 834
¿ questiondown 611 611, À Agrave 667 722, Á Aacute 667 722, Â Acircumflex 667 722
Ã Atilde 667 722, Ä Adieresis 667 722, Å Aring 667 722, Æ AE 1000 1000, Ç Ccedilla 722 722
È Egrave 667 667, É Eacute 667 667, Ê Ecircumflex 667 667, Ë Edieresis 667 667, Ì Igrave 278 278
Í Iacute 278 278, Î Icircumflex 278 278, Ï Idieresis 278 278, Ð Eth 722 722, Ñ Ntilde 722 722
Ò Ograve 778 778, Ó Oacute 778 778, Ô Ocircumflex 778 778, Õ Otilde 778 778, Ö Odieresis 778 778
× multiply 584 584, Ø Oslash 778 778, Ù Ugrave 722 722, Ú Uacute 722 722, Û Ucircumflex 722 722
Ü Udieresis 722 722, Ý Yacute 667 667, Þ Thorn 667 667, ß germandbls 611 611, à agrave 556 556
á aacute 556 556, â acircumflex 556 556, ã atilde 556 556, ä adieresis 556 556, å aring 556 556
æ ae 889 889, ç ccedilla 500 556, è egrave 556 556, é eacute 556 556, ê ecircumflex 556 556
ë edieresis 556 556, ì igrave 278 278, í iacute 278 278, î icircumflex 278 278
ï idieresis 278 278, ð eth 556 611, ñ ntilde 556 611, ò ograve 556 611, ó oacute 556 611
ô ocircumflex 556 611, õ otilde 556 611, ö odieresis 556 611, ÷ divide 584 584, ø oslash 611 611
ù ugrave 556 611, ú uacute 556 611, û ucircumflex 556 611, ü udieresis 556 611, ý yacute 500 556
þ thorn 556 611, ÿ ydieresis 500 556, Ā Amacron 667 722, ā amacron 556 556, Ă Abreve 667 722
ă abreve 556 556, Ą Aogonek 667 722, ą aogonek 556 556, Ć Cacute 722 722, ć cacute 500 556
Ĉ Ccircumflex 722 722, ĉ ccircumflex 500 556, Ċ Cdotaccent 722 722, ċ cdotaccent 500 556
Č Ccaron 722 722, č ccaron 500 556, Ď Dcaron 722 722, ď dcaron 615 719, Đ Dcroat 722 722
đ dcroat 556 611, Ē Emacron 667 667, ē emacron 556 556, Ĕ Ebreve 667 667, ĕ ebreve 556 556
Ė Edotaccent 667 667, ė edotaccent 556 556, Ę Eogonek 667 667, ę eogonek 556 556
Ě Ecaron 667 667, ě ecaron 556 556, Ĝ Gcircumflex 778 778, ĝ gcircumflex 556 611
Ğ Gbreve 778 778, ğ gbreve 556 611, Ġ Gdotaccent 778 778, ġ gdotaccent 556 611
Ĥ Hcircumflex 722 722, ĥ hcircumflex 556 611, Ĩ Itilde 278 278, ĩ itilde 278 278
Ī Imacron 278 278, ī imacron 278 278, Ĭ Ibreve 278 278, ĭ ibreve 278 278, Į Iogonek 278 278
į iogonek 222 278, İ Idotaccent 278 278, ı dotlessi 278 278, Ĵ Jcircumflex 500 556
ĵ jcircumflex 222 278, Ĺ Lacute 556 611, ĺ lacute 222 278, Ľ Lcaron 556 611, ľ lcaron 292 385
Ł Lslash 556 611, ł lslash 222 278, Ń Nacute 722 722, ń nacute 556 611, Ň Ncaron 722 722
ň ncaron 556 611, Ō Omacron 778 778, ō omacron 556 611, Ŏ Obreve 778 778, ŏ obreve 556 611
Ő Ohungarumlaut 778 778, ő ohungarumlaut 556 611, Œ OE 1000 1000, œ oe 944 944, Ŕ Racute 722 722
ŕ racute 333 389, Ř Rcaron 722 722, ř rcaron 333 389, Ś Sacute 667 667, ś sacute 500 556
Ŝ Scircumflex 667 667, ŝ scircumflex 500 556, Ş Scedilla 667 667, ş scedilla 500 556
Š Scaron 667 667, š scaron 500 556, Ť Tcaron 611 611, ť tcaron 375 479, Ũ Utilde 722 722
ũ utilde 556 611, Ū Umacron 722 722, ū umacron 556 611, Ŭ Ubreve 722 722, ŭ ubreve 556 611
Ů Uring 722 722, ů uring 556 611, Ű Uhungarumlaut 722 722, ű uhungarumlaut 556 611
Ų Uogonek 722 722, ų uogonek 556 611, Ŵ Wcircumflex 944 944, ŵ wcircumflex 722 778
Ŷ Ycircumflex 667 667, ŷ ycircumflex 500 556, Ÿ Ydieresis 667 667, Ź Zacute 611 611
ź zacute 500 500, Ż Zdotaccent 611 611, ż zdotaccent 500 500, Ž Zcaron 611 611, ž zcaron 500 500
– endash 556 556, — emdash 1000 1000, ‘ quoteleft 222 278, ’ quoteright 222 278
‚ quotesinglbase 222 278, “ quotedblleft 333 500, ” quotedblright 333 500
„ quotedblbase 333 500, • bullet 350 350, … ellipsis 1000 1000, € Euro 556 556, − minus 584 584
≤ lessequal 549 549, ≥ greaterequal 549 549
";
/// The first code for a letter that is not plain.
const FIRST_CODE: u8 = 128;
/// What stands for a letter that no face has.
const UNKNOWN: u8 = b'?';

struct Letter {
    name: &'static str,
    width: u16,
    bold: u16,
}

/// The letters of one paper: known widths, and the codes given so far.
pub(super) struct Letters {
    others: BTreeMap<char, Letter>,
    codes: BTreeMap<char, u8>,
    given: Vec<char>,
}

impl Default for Letters {
    fn default() -> Self {
        let rows = OTHERS.split([',', '\n']).filter_map(|row| {
            let mut parts = row.split_whitespace();
            let letter = parts.next()?.chars().next()?;
            let name = parts.next()?;
            let width = parts.next()?.parse().ok()?;
            Some((letter, Letter { name, width, bold: parts.next()?.parse().ok()? }))
        });
        Self { others: rows.collect(), codes: BTreeMap::new(), given: Vec::new() }
    }
}

impl Letters {
    /// In thousandths of the size.
    pub(super) fn width(&self, text: &str, bold: bool) -> u32 {
        text.chars().map(|letter| u32::from(self.width_of(letter, bold))).sum()
    }

    fn width_of(&self, letter: char, bold: bool) -> u16 {
        let plain = if bold { &PLAIN_BOLD } else { &PLAIN };
        let at = |letter: u8| plain.get(usize::from(letter.wrapping_sub(b' '))).copied();
        if let Some(width) = u8::try_from(letter).ok().filter(u8::is_ascii).and_then(at) {
            return width;
        }
        match self.others.get(&letter) {
            Some(known) if bold => known.bold,
            Some(known) => known.width,
            None => at(UNKNOWN).unwrap_or(0),
        }
    }

    /// The text as codes of the paper's own encoding.
    pub(super) fn codes(&mut self, text: &str) -> Vec<u8> {
        text.chars().map(|letter| self.code(letter)).collect()
    }

    fn code(&mut self, letter: char) -> u8 {
        if let Some(plain) = u8::try_from(letter).ok().filter(|code| (b' '..=b'~').contains(code)) {
            return plain;
        }
        if let Some(code) = self.codes.get(&letter) {
            return *code;
        }
        let next = u8::try_from(self.given.len()).ok().and_then(|n| FIRST_CODE.checked_add(n));
        let Some(code) = next.filter(|_| self.others.contains_key(&letter)) else {
            return UNKNOWN;
        };
        self.codes.insert(letter, code);
        self.given.push(letter);
        code
    }

    /// The names of the letters that got codes, in the order of their codes, from `FIRST_CODE` on.
    pub(super) fn names(&self) -> impl Iterator<Item = &'static str> {
        self.given.iter().filter_map(|letter| self.others.get(letter).map(|known| known.name))
    }

    /// The first and last code in use and the width of each between.
    pub(super) fn widths(&self, bold: bool) -> (u8, u8, Vec<u16>) {
        let plain = if bold { PLAIN_BOLD } else { PLAIN };
        let mut widths = plain.to_vec();
        if self.given.is_empty() {
            return (b' ', b'~', widths);
        }
        // Between the last plain letter and the first other one there is one code without a letter.
        widths.push(0);
        widths.extend(self.given.iter().map(|letter| self.width_of(*letter, bold)));
        let last = u8::try_from(self.given.len() - 1).unwrap_or(0);
        (b' ', FIRST_CODE.saturating_add(last), widths)
    }

    pub(super) const fn first_code() -> u8 {
        FIRST_CODE
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Source: the published metrics of Helvetica and Helvetica-Bold (Adobe, AFM files of the fourteen
    /// standard faces); accented letters as wide as their letter, save the dotless i.
    #[test]
    fn widths_are_those_of_the_standard_faces() {
        let letters = Letters::default();
        for (text, width, bold) in [
            (" ", 278, 278),
            ("A", 667, 722),
            ("W", 944, 944),
            ("m", 833, 889),
            ("@", 1015, 975),
            ("~", 584, 584),
            ("\u{e9}", 556, 556),
            ("\u{ed}", 278, 278),
            ("\u{142}", 222, 278),
            ("\u{20ac}", 556, 556),
            ("114", 1668, 1668),
        ] {
            assert_eq!(
                (letters.width(text, false), letters.width(text, true)),
                (width, bold),
                "{text}"
            );
        }
        assert!(letters.others.len() > 200, "{} letters were read", letters.others.len());
    }

    #[test]
    fn irish_french_and_polish_letters_get_codes_and_nothing_else_is_a_question_mark() {
        let mut letters = Letters::default();
        for name in [
            "Caoimhín Ó Súilleabháin, Áine, Éire",
            "Œuvre, Gaël, François, Zoë, l’étable, Noël, où, çà",
            "Zażółć gęślą jaźń ZAŻÓŁĆ GĘŚLĄ JAŹŃ",
        ] {
            assert!(!letters.codes(name).contains(&UNKNOWN), "{name}");
        }
        assert_eq!(letters.codes("A\u{4e2d}B"), b"A?B");
        let (first, last, widths) = letters.widths(false);
        assert_eq!(widths.len(), usize::from(last - first) + 1);
        assert_eq!(letters.names().count(), usize::from(last - FIRST_CODE) + 1);
    }
}
