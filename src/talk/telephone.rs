//! A telephone number in one form, however it was typed or delivered.
//!
//! It brings numbers to E.164 so that they can be compared; it does not know whether one is in use.
//! The country table is from memory of the national dialling plans.

use super::spelling;

/// E.164: at most fifteen digits with the country code.
const DIGITS_MOST: usize = 15;
/// No subscriber can be reached with fewer, country code included (common practice, no source).
const DIGITS_FEWEST: usize = 7;
/// No dialled number is longer than this, whatever prefixes and blanks it is typed with.
const TYPED_MOST: usize = 40;

struct Country {
    iso: &'static str,
    code: &'static str,
    /// What is dialled before a number within the country, and left out from abroad.
    trunk: &'static str,
    /// What is dialled before a foreign country's code, besides 00.
    abroad: &'static str,
    /// How many digits a number has after the country code.
    digits: std::ops::RangeInclusive<usize>,
}

const COUNTRIES: [Country; 8] = [
    Country { iso: "IE", code: "353", trunk: "0", abroad: "00", digits: 7..=9 },
    Country { iso: "GB", code: "44", trunk: "0", abroad: "00", digits: 9..=10 },
    Country { iso: "US", code: "1", trunk: "1", abroad: "011", digits: 10..=10 },
    Country { iso: "NZ", code: "64", trunk: "0", abroad: "00", digits: 8..=10 },
    Country { iso: "AU", code: "61", trunk: "0", abroad: "0011", digits: 9..=9 },
    Country { iso: "DE", code: "49", trunk: "0", abroad: "00", digits: 6..=13 },
    Country { iso: "FR", code: "33", trunk: "0", abroad: "00", digits: 9..=9 },
    Country { iso: "ES", code: "34", trunk: "", abroad: "00", digits: 9..=9 },
];

/// `+` and digits, or nothing when it cannot be one number only. `country` is the farm's, ISO 3166;
/// in a country that is not in the table only numbers with their country code are known.
pub fn normal_mobile(text: &str, country: &str) -> Option<String> {
    let (digits, international) = dialled(text)?;
    let home = COUNTRIES.iter().find(|c| c.iso.eq_ignore_ascii_case(country.trim()));
    if international {
        return e164(&digits);
    }
    if let Some(home) = home
        && let Some(rest) = digits.strip_prefix(home.abroad)
    {
        return e164(rest);
    }
    if let Some(rest) = digits.strip_prefix("00") {
        return e164(rest);
    }
    let home = home?;
    national(&digits, home).or_else(|| plus_forgotten(&digits))
}

/// The same number as it is dialled within the country, where it is one of that country's: "0860000002".
pub fn dialled_at_home(number: &str, country: &str) -> Option<String> {
    let home = COUNTRIES.iter().find(|c| c.iso.eq_ignore_ascii_case(country.trim()))?;
    let rest = number.strip_prefix('+')?.strip_prefix(home.code)?;
    Some(format!("{}{rest}", home.trunk))
}

/// The digits, and whether a plus stood before them.
fn dialled(text: &str) -> Option<(String, bool)> {
    let text: String = text
        .trim()
        .chars()
        .filter(|&letter| !spelling::is_unseen(letter))
        .map(spelling::fold)
        .collect();
    let text = text.strip_prefix("tel:").unwrap_or(&text).trim();
    if text.chars().count() > TYPED_MOST {
        return None;
    }
    // "+353 (0)86 …" shows both forms at once; the zero belongs to the other one.
    let international = text.starts_with('+');
    let text = if international || text.starts_with("00") {
        text.replacen("(0)", "", 1)
    } else {
        text.to_owned()
    };
    let mut digits = String::new();
    for letter in text.strip_prefix('+').unwrap_or(&text).chars() {
        match letter {
            '0'..='9' => digits.push(letter),
            '-' | '.' | '(' | ')' | '/' | '\u{2010}'..='\u{2015}' => {}
            other if other.is_whitespace() => {}
            _ => return None,
        }
    }
    (!digits.is_empty()).then_some((digits, international))
}

fn national(digits: &str, home: &Country) -> Option<String> {
    let rest = match digits.strip_prefix(home.trunk) {
        Some(rest) => rest,
        // In the one plan with trunk 1 people leave it out.
        None if home.trunk == "1" => digits,
        None => return None,
    };
    let plausible = home.digits.contains(&rest.len()) && !rest.starts_with('0');
    if plausible { e164(&format!("{}{rest}", home.code)) } else { None }
}

/// Gateways often leave the plus out. In countries whose own numbers begin with a zero, digits that
/// begin with a country code and have its length can be nothing else. Code 1 is too short to tell.
fn plus_forgotten(digits: &str) -> Option<String> {
    COUNTRIES.iter().filter(|country| country.code != "1").find_map(|country| {
        let rest = digits.strip_prefix(country.code)?;
        let plausible = country.digits.contains(&rest.len()) && digits.len() > 10;
        if plausible { e164(digits) } else { None }
    })
}

/// With a trunk zero left in behind a code that drops it ("+353 086 …"), the zero goes.
fn e164(digits: &str) -> Option<String> {
    let zero_kept = COUNTRIES.iter().filter(|country| country.trunk == "0").find_map(|country| {
        let rest = digits.strip_prefix(country.code)?;
        Some(format!("{}{}", country.code, rest.trim_start_matches('0')))
    });
    let digits = zero_kept.as_deref().unwrap_or(digits);
    let fits = (DIGITS_FEWEST..=DIGITS_MOST).contains(&digits.len()) && !digits.starts_with('0');
    fits.then(|| format!("+{digits}"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_number_has_one_form_however_it_is_typed() {
        // ITU-T E.164 (SM-13) for the form; the plans from memory.
        for (country, typed, normal) in [
            ("IE", "086 000 0001", "+353860000001"),
            ("IE", "086-000-0001", "+353860000001"),
            ("IE", "+353 86 000 0001", "+353860000001"),
            ("IE", "+353 (0)86 000 0001", "+353860000001"),
            ("IE", "+353 086 000 0001", "+353860000001"),
            ("IE", "00353860000001", "+353860000001"),
            ("IE", "00353 (0) 86 0000001", "+353860000001"),
            ("IE", "353860000001", "+353860000001"),
            ("IE", "tel:+353-86-0000001", "+353860000001"),
            ("IE", "\u{202a}+353\u{a0}86\u{a0}0000001\u{202c}", "+353860000001"),
            ("ie", "0860000001", "+353860000001"),
            ("IE", "447700900001", "+447700900001"),
            ("GB", "07700 900001", "+447700900001"),
            ("GB", "+44 7700 900001", "+447700900001"),
            ("GB", "00 353 86 000 0001", "+353860000001"),
            ("US", "(202) 555-0101", "+12025550101"),
            ("US", "1-202-555-0101", "+12025550101"),
            ("US", "+1 202 555 0101", "+12025550101"),
            ("US", "011 353 86 000 0001", "+353860000001"),
            ("NZ", "021 000 001", "+6421000001"),
            ("NZ", "021 000 0001", "+64210000001"),
            ("AU", "0491 570 006", "+61491570006"),
            ("AU", "0011 353 86 000 0001", "+353860000001"),
            ("DE", "0171 0000001", "+491710000001"),
            ("DE", "0171/0000001", "+491710000001"),
            ("FR", "06 00 00 00 01", "+33600000001"),
            ("FR", "0033 6 00 00 00 01", "+33600000001"),
            ("ES", "600 000 001", "+34600000001"),
            ("ES", "34600000001", "+34600000001"),
            ("SE", "+46 70 000 00 01", "+46700000001"),
            ("SE", "0046700000001", "+46700000001"),
        ] {
            assert_eq!(normal_mobile(typed, country).as_deref(), Some(normal), "{country} {typed}");
        }
    }

    #[test]
    fn what_is_not_one_number_is_none() {
        for (country, typed) in [
            ("IE", ""),
            ("IE", "+"),
            ("IE", "Ana"),
            ("IE", "50400"),
            ("IE", "086 000 0001 or 02"),
            ("IE", "0860000001 x2"),
            ("IE", "+1234567890123456"),
            ("IE", "+0860000001"),
            ("US", "0202 555 0101"),
            ("US", "123"),
            ("SE", "070 000 00 01"),
            ("IE", "08+60000001"),
        ] {
            assert_eq!(normal_mobile(typed, country), None, "{country} {typed}");
        }
    }

    proptest::proptest! {
        #[test]
        fn what_comes_out_has_the_form_of_e164_and_stays_itself(
            typed in "\\+?[0-9 ()./-]{0,24}",
            country in "IE|GB|US|NZ|AU|DE|FR|ES|SE",
        ) {
            if let Some(normal) = normal_mobile(&typed, &country) {
                let digits = normal.strip_prefix('+').unwrap();
                proptest::prop_assert!(digits.len() <= DIGITS_MOST && !digits.starts_with('0'));
                proptest::prop_assert!(digits.bytes().all(|b| b.is_ascii_digit()));
                proptest::prop_assert_eq!(normal_mobile(&normal, &country), Some(normal.clone()));
            }
        }
    }
}
