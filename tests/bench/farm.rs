//! A herd of any size for the benchmarks: every dam wears a tail sensor, the rules are the shipped ones.

use lowbell::config::{NamedText, SettingsText};

pub(crate) fn settings(dams: usize, broker: &str) -> SettingsText {
    let mut farm = format!(
        r#"[farm]
name = "Hollow Bank"
zone = "Europe/Dublin"
herd = "herd.csv"
[broker]
{broker}
[[sensor]]
kind = "tail"
topic = "yard/tail/{{device}}/state"
read = [{{ sign = "contraction", at = "/efforts", as = "count" }}]
time = {{ at = "/t", as = "unix-s" }}
every = "5m"
[[person]]
name = "Ana"
mail = "ana@hollowbank.example"
[[line]]
name = "mail"
kind = "smtp"
url = "smtp://127.0.0.1:9"
from = "lowbell@hollowbank.example"
"#
    );
    let mut herd = String::from("animal,calvings,group\n");
    for dam in 0..dams {
        farm.push_str(&format!("[[device]]\nid = \"t-{dam}\"\non = \"{dam}\"\n"));
        herd.push_str(&format!("{dam},{},home field\n", dam % 5));
    }
    let file = |name: &str, text: String| NamedText { name: name.into(), text };
    SettingsText { files: vec![file("farm.toml", farm), file("herd.csv", herd)] }
}
