//! Handing an alert on by name, in each language but English, which stands beside its grammar.

use super::super::hand_on::HandWords;

pub(super) const GERMAN: HandWords = HandWords {
    give: "gib es an, gib an, gib es weiter an, gib weiter an, gebe es an, gebe es weiter an, gebe weiter an, geb es weiter an, \
        weiter an, ubergabe an, ubergib an, ubergebe an, ubergib es an, ruf, rufe, ruft, frag, frage, hol, hole, schick, \
        schicke, lass",
    behind: "an, es machen, das machen, gehen, ubernehmen, es ubernehmen, dazu",
    takes: "ubernimmt, ubernimmt es, ubernimmt das, soll ubernehmen, soll es ubernehmen, soll gehen, soll hin, geht, geht hin, \
        macht es, macht das, machts, hat es, hats, ist dran, ist unterwegs",
    over: "ich lose ab, ich lose dich ab, lose ab, ich bin jetzt dran, jetzt ich, ich ubernehme jetzt, ubernehme jetzt, ich \
        ubernehme von, ubernehme von, ich ubernehme fur, ich habe es jetzt, ich habs jetzt, hab ich jetzt",
    from: "von, fur",
};

pub(super) const SPANISH: HandWords = HandWords {
    give: "pasalo a, paselo a, pasala a, pasesela a, pasaselo a, daselo a, deselo a, se lo paso a, lo paso a, avisa a, \
        avise a, llama a, llame a, pregunta a, pregunte a, que vaya, que lo coja, que lo tome, que se encargue, encargaselo a",
    behind: "por favor, que vaya, que se encargue",
    takes: "se encarga, se ocupa, se hace cargo, lo toma, lo coge, lo lleva, la atiende, lo tiene, va, ira, va a ir, va el, va \
        ella, que vaya",
    over: "relevo yo, te relevo, lo relevo, la relevo, relevo a, tomo el relevo, hago el relevo, sigo yo, me encargo yo ahora, \
        ahora me encargo yo, ahora lo llevo yo",
    from: "a, de, por",
};

pub(super) const FRENCH: HandWords = HandWords {
    give: "passe a, passez a, passe le a, passe-le a, passez le a, passez-le a, passe la a, passe-la a, passe ca a, je passe a, je le passe a, donne a, donne le a, donne-le a, donnez-le a, \
        donnez le a, transmets a, transmettez a, demande a, demandez a, appelle, appelez, previens, prevenez, envoie, envoyez",
    behind: "sil te plait, sil vous plait, dy aller",
    takes: "sen charge, sen occupe, le prend, la prend, prend ca, prend le relais, prend la releve, prend la suite, y va, va y \
        aller, doit y aller",
    over: "je prends le relais, je prends la releve, je prends la suite, je reprends, je te releve, je releve, je te remplace, \
        je remplace, cest moi maintenant",
    from: "de, a",
};
