//! Other species' words in each language but English, as those of cattle: one word for one word, in their plain form.
//! Trade words from memory: no glossary was at hand.

pub(super) const SPANISH: &[(&str, &str)] = &[
    ("ternero", "cordero, corderito, cabrito, chivo, potro, potrillo, lechon, cochinillo, bucerro"),
    ("ternera", "cordera, cabrita, potra, potranca, lechona, bucerra"),
    (
        "terneros",
        "corderos, cabritos, chivos, potros, potrillos, lechones, cochinillos, bucerros, crias",
    ),
    ("vaca", "oveja, cabra, yegua, cerda, marrana, puerca, alpaca, bufala"),
    ("novilla", "borrega, primala"),
];

pub(super) const GERMAN: &[(&str, &str)] = &[
    ("kalb", "lamm, kitz, zicklein, fohlen, ferkel, cria, buffelkalb, bueffelkalb"),
    ("kalber", "lammer, laemmer, kitze, crias"),
    ("bullenkalb", "bocklamm, widderlamm, bockkitz, hengstfohlen, eberferkel"),
    ("kuhkalb", "mutterlamm, aulamm, geissenkitz, stutfohlen, sauferkel"),
    (
        "kuh",
        "schaf, mutterschaf, aue, ziege, geiss, geis, stute, sau, alpaka, buffel, bueffel, buffelkuh",
    ),
    ("farse", "jungsau, jungschaf"),
    ("gekalbt", "gelammt, gefohlt, geferkelt, gekitzt, gezickelt"),
    ("abgekalbt", "abgelammt, abgefohlt, abgeferkelt"),
    ("verkalbt", "verlammt, verfohlt, verferkelt"),
];

pub(super) const FRENCH: &[(&str, &str)] = &[
    ("veau", "agneau, lagneau, dagneau, chevreau, cabri, poulain, porcelet, cria, bufflon"),
    ("veaux", "agneaux, chevreaux, cabris, poulains, porcelets, crias, bufflons"),
    ("velle", "agnelle, lagnelle, chevrette, pouliche"),
    ("vache", "brebis, chevre, jument, truie, alpaga, lalpaga, bufflonne, bufflesse"),
    ("genisse", "antenaise, cochette"),
    ("vele", "agnele, chevrote, pouline, cochonne"),
    ("velee", "agnelee, poulinee"),
    ("velage", "agnelage, chevrotage, poulinage"),
];
