//! How people say that they are in with a dam, and out again, in each language but English, which stands beside its
//! grammar.

use super::super::inside::InsideWords;

pub(super) const GERMAN: InsideWords = InsideWords {
    inside: "drin, bin drin, ich bin drin, rein, gehe rein, ich gehe rein, geh rein, bin bei ihr, bin im stall, im stall, wieder \
        drin, bin in der box, in der box",
    with: "bei, mit, zu, bei kuh, zu kuh",
    now: "jetzt, wieder",
    lasting: "fur",
    outside: "draussen, bin draussen, ich bin draussen, bin raus, ich bin raus, wieder draussen, bin wieder draussen, wieder \
        raus, bin wieder raus, out",
    help: "hilfe, helft, helft mir, brauche hilfe, ich brauche hilfe, verletzt, bin verletzt, ich bin verletzt, hilfe bei, brauch \
        hilfe",
    of_another: "ist draussen, ist raus, draussen, raus, ist wieder draussen",
};

pub(super) const SPANISH: InsideWords = InsideWords {
    inside: "dentro, estoy dentro, adentro, estoy adentro, entro, voy a entrar, entrando, en el corral, estoy en el corral, \
        sigo dentro",
    with: "con, con la, a, con la vaca",
    now: "ahora, ya, otra vez",
    lasting: "por, durante",
    outside: "fuera, estoy fuera, afuera, estoy afuera, ya fuera, ya estoy fuera, he salido, ya sali, ya he salido, out",
    help: "ayuda, ayudame, socorro, auxilio, necesito ayuda, estoy herido, estoy herida, herido, herida, ayuda con",
    of_another: "esta fuera, fuera, ha salido, ya salio, salio",
};

pub(super) const FRENCH: InsideWords = InsideWords {
    inside: "dedans, je suis dedans, jentre, j entre, je rentre dedans, dans la case, je suis dans la case, dans le box, je suis \
        dans le box, toujours dedans",
    with: "avec, avec la, chez, avec la vache",
    now: "maintenant, encore",
    lasting: "pour, pendant",
    outside: "dehors, je suis dehors, sorti, sortie, je suis sorti, je suis sortie, ressorti, ressortie, out",
    help: "aide, aidez moi, aidezmoi, au secours, a laide, jai besoin daide, besoin daide, blesse, blessee, je suis blesse, je suis \
        blessee, aide chez",
    of_another: "est dehors, dehors, est sorti, est sortie",
};
