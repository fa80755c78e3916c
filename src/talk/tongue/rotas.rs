//! What people say about the rota, in each language but English, which stands beside its grammar.

use super::super::swap::RotaWords;

pub(super) const GERMAN: RotaWords = RotaWords {
    yes: "ja, ok, okay, einverstanden, passt, gerne, gut",
    no: "nein, ne, nee, geht nicht, absagen, kann nicht",
    ill: "krank, bin krank, ich bin krank, krankgemeldet",
    well: "gesund, bin gesund, wieder gesund, bin wieder gesund, wieder fit, bin wieder fit, wieder da, bin wieder da",
    until: "bis, bis zum",
    filler: "mit, fur, mein, meine, nacht, nachtdienst, schicht, am, die, den, und, sein, bitte, tausch, tausche, tag, abend, \
        ich, nehme, ubernimmt, sorry",
    tonight: "heute, heut, heute nacht, heute abend",
    tomorrow: "morgen",
    days: [
        "mo, montag",
        "di, dienstag",
        "mi, mittwoch",
        "do, donnerstag",
        "fr, freitag",
        "sa, samstag, sonnabend",
        "so, sonntag",
    ],
};

pub(super) const SPANISH: RotaWords = RotaWords {
    yes: "si, ok, okay, vale, de acuerdo, dale, conforme",
    no: "no, cancela, no puedo",
    ill: "enfermo, enferma, estoy enfermo, estoy enferma, de baja, estoy de baja, malo, estoy malo",
    well: "bien, estoy bien, ya estoy bien, recuperado, recuperada, de alta, ya de alta, de vuelta, estoy de vuelta",
    until: "hasta, hasta el",
    filler: "con, por, para, mi, noche, turno, guardia, el, la, los, y, su, por favor, cambio, cambia, dia, tarde, yo, tomo, toma, \
        perdon, del, de",
    tonight: "hoy, esta noche",
    tomorrow: "manana",
    days: [
        "lun, lunes",
        "mar, martes",
        "mie, mier, miercoles",
        "jue, jueves",
        "vie, viernes",
        "sab, sabado",
        "dom, domingo",
    ],
};

pub(super) const FRENCH: RotaWords = RotaWords {
    yes: "oui, ok, okay, daccord, entendu, ca marche",
    no: "non, annule, peux pas",
    ill: "malade, je suis malade, en arret, je suis en arret, souffrant, souffrante",
    well: "gueri, guerie, je suis gueri, je suis guerie, retabli, retablie, de retour, je suis de retour, ca va mieux",
    until: "jusqua, jusquau, jusque",
    filler: "avec, pour, ma, mon, nuit, tour, garde, le, la, les, et, son, sa, svp, stp, echange, change, jour, soir, je, prends, \
        prend, desole, de, du",
    tonight: "ce soir, cette nuit, aujourdhui",
    tomorrow: "demain",
    days: [
        "lun, lundi",
        "mar, mardi",
        "mer, mercredi",
        "jeu, jeudi",
        "ven, vendredi",
        "sam, samedi",
        "dim, dimanche",
    ],
};
