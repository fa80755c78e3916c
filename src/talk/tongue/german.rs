//! The words of German, with those of its cattle yards (the trade's words: common practice, no source).

use super::super::words::Going::{Ok as Okay, Plain, Yes};
use super::super::words::Phrase::{
    Bull, Calf, CalfOf, Dam, Dead, Down, Filler, Is, Looked, Noted, Nothing, She, Up, Which,
};
use super::super::words::Words;
use super::{hands, herds, insides, rotas};
use crate::herd::sign::Mark;

pub(super) const GERMAN: Words = Words {
    going: &[
        (
            Plain,
            "komme, ich komme, komme gleich, ich komme gleich, bin gleich da, ich bin gleich da, gehe, ich gehe, \
            geh, ich geh, gehe hin, ich gehe hin, geh hin, ich geh hin, gehe jetzt, gehe raus, ich gehe raus, geh raus, \
            ich geh raus, gehe los, ich gehe los, geh los, laufe los, fahre los, fahr los, ich fahre los, ich fahre hin, \
            fahre hin, bin unterwegs, ich bin unterwegs, unterwegs, bin auf dem weg, ich bin auf dem weg, auf dem weg, \
            mach ich, ich machs, ich mach das, ich mache das, mache ich, ubernehme ich, ich ubernehme, ubernehme, \
            uebernehme, ich uebernehme, uebernehme ich, ich schaue nach, schaue nach, schau nach, ich schau nach, sehe nach, \
            ich sehe nach, guck nach, gucke nach, ich guck nach, ich gucke nach, ich schau mal, schau mal nach, ich kummere \
            mich, kummere mich, bin dran, ich bin dran, hab ich, ich geh schauen, ich gehe schauen, gehe schauen, going",
        ),
        (Okay, "ok, okay, okey, oky, oki, k, alles klar, geht klar, 👍"),
        (Yes, "ja, jep, jo, jup, jawohl, joa, yes"),
    ],
    going_filler: "jetzt, gleich, sofort, schon, grad, gerade, mal, danke, sorry, dann",
    going_where: "raus, hin, los, runter, rauf, hoch, ruber, selbst, schnell, in den stall",
    toward: "zu, zur, nach, zu kuh, zur kuh, zu farse, zur farse, zur kalbin",
    pass: &[
        (
            false,
            "kann nicht, ich kann nicht, kann nich, ich kann nich, kann leider nicht, ich kann leider nicht, kann grad nicht, \
            ich kann grad nicht, kann gerade nicht, ich kann gerade nicht, kann jetzt nicht, ich kann jetzt nicht, kann nicht \
            kommen, ich kann nicht kommen, kann nicht gehen, ich kann nicht gehen, komme nicht, ich komme nicht, gehe nicht, \
            ich gehe nicht, geh nicht, ich nicht, nicht ich, schaffe es nicht, ich schaffe es nicht, schaffs nicht, ich \
            schaffs nicht, komm nicht weg, komme nicht weg, ich komme nicht weg, bin nicht da, ich bin nicht da, passe, ich \
            passe, pass, geht nicht, geht leider nicht, geht grad nicht",
        ),
        (true, "nein, ne, nee, no"),
    ],
    pass_filler: "sorry, leider, jetzt, heute, nacht, gerade, grad, danke, diesmal",
    marks: &[
        (
            Is(Mark::WaterBag),
            "blase, wasserblase, fruchtblase, blase geplatzt, wasserblase geplatzt, fruchtblase geplatzt, blase ist geplatzt, \
            fruchtblase ist geplatzt, wasserblase ist geplatzt, blase da, wasserblase da, fruchtblase da, fruchtwasser, \
            fruchtwasser ab, wasser ab, blasensprung, blase gesprungen, fruchtblase gesprungen, wasserblase gesprungen",
        ),
        (
            Is(Mark::Feet),
            "fusse, fuse, fuesse, beine, klauen, vorderbeine, vorderfusse, vorderfuse, vorderfuesse, zwei fusse, zwei fuse, \
            zwei fuesse, 2 fusse, 2 fuse, 2 fuesse, beide fusse, beide fuse, zwei beine, 2 beine, beide beine, zwei klauen, \
            2 klauen, beide klauen, fusse da, fuse da, fuesse da, beine da, klauen da",
        ),
        (Is(Mark::Nose), "nase, flotzmaul, maul, schnauze, nase da, maul da"),
        (
            Is(Mark::Progress),
            "fortschritt, geht voran, es geht voran, geht vorwarts, es geht vorwarts, kommt voran, macht fortschritte",
        ),
        (Calf, "kalb, lebendes kalb, kalb lebt"),
        (
            CalfOf("bull"),
            "bullenkalb, stierkalb, mannliches kalb, kalb mannlich, kalb ist mannlich",
        ),
        (
            CalfOf("heifer"),
            "kuhkalb, farsenkalb, weibliches kalb, kalb weiblich, kalb ist weiblich, madchen",
        ),
        (Bull, "bulle, stier"),
        (
            Noted(Mark::Sex, "bull"),
            "es ist ein bulle, ist ein bulle, ein bulle, ein stierkalb, ein bullenkalb",
        ),
        (Noted(Mark::Sex, "heifer"), "es ist ein kuhkalb, ist ein kuhkalb, ein kuhkalb"),
        (
            Noted(Mark::Vigour, "weak"),
            "schwaches kalb, kalb schwach, kalb ist schwach, kalb schlapp, kalb ist schlapp",
        ),
        (
            Noted(Mark::Vigour, "strong"),
            "kraftiges kalb, kalb kraftig, munteres kalb, kalb munter, kalb ist munter, kalb fit, kalb ist fit, vitales kalb",
        ),
        (Noted(Mark::Vigour, "shivering"), "kalb zittert, zitterndes kalb"),
        (Noted(Mark::Vigour, "cold mouth"), "kaltes maul, maul kalt, maul ist kalt"),
        (Noted(Mark::Calf, "single"), "einling, nur ein kalb"),
        (
            Which(0),
            "beide, beide kalber, beide kaelber, beide zwillinge, die zwillinge, alle kalber, alle kaelber",
        ),
        (Which(1), "erstes kalb, 1 kalb, kalb 1, kalb eins"),
        (Which(2), "zweites kalb, 2 kalb, kalb 2, kalb zwei"),
        (Which(3), "drittes kalb, kalb 3, kalb drei"),
        (Which(4), "viertes kalb, kalb 4, kalb vier"),
        (
            Is(Mark::Calf),
            "gekalbt, hat gekalbt, abgekalbt, hat abgekalbt, geboren, kalb geboren, kalb ist geboren, kalb da, kalb ist da, \
            kalb raus, kalb ist raus, kalb draussen, kalb ist draussen, erstes kalb geboren, erstes kalb da",
        ),
        (
            Is(Mark::SecondCalf),
            "zweites kalb geboren, zweites kalb da, zweites kalb ist da, zweites kalb raus, zwilling, zwilling geboren, \
            zwilling da, zweites ist da",
        ),
        (
            Is(Mark::AllBorn),
            "alle geboren, alles raus, alle raus, alle kalber da, alle kaelber da, fertig gekalbt",
        ),
        (Up, "steht, aufgestanden, ist aufgestanden"),
        (
            Is(Mark::Up),
            "kalb steht, kalb steht schon, kalb ist auf, kalb auf, kalb ist aufgestanden, kalb aufgestanden, kalb auf den \
            beinen, kalb ist auf den beinen",
        ),
        (
            Is(Mark::Sucked),
            "gesaugt, saugt, hat gesaugt, getrunken, hat getrunken, trinkt, kalb saugt, kalb trinkt, trinkt am euter, kalb hat \
            getrunken, kalb hat gesaugt, kalb getrunken",
        ),
        (
            Is(Mark::Colostrum),
            "kolostrum, colostrum, biestmilch, biest, kolostrum gegeben, biestmilch gegeben, biestmilch bekommen, kolostrum \
            bekommen, gedrencht, biest bekommen, biest gegeben",
        ),
        (
            Is(Mark::Placenta),
            "nachgeburt, nachgeburt ab, nachgeburt is ab, nachgeburt ist ab, nachgeburt raus, nachgeburt ist raus, nachgeburt \
            abgegangen, nachgeburt ist abgegangen, nachgeburt weg, nachgeburt ist weg, nachgeburt da, nachgeburt ist da, \
            plazenta, plazenta ab, plazenta ist ab, hat sich gereinigt, sich gereinigt, hat sich gesaubert, sich gesaubert, \
            hat gesaubert",
        ),
        (
            Is(Mark::Temperature),
            "temp, temperatur, temp ist, temperatur ist, ihre temperatur, korpertemperatur, fieber, temp der kuh, kuh temp",
        ),
        (Is(Mark::Treated), "behandelt, gespritzt, injiziert"),
        (
            Is(Mark::Helped),
            "geholfen, ohne hilfe, leichter zug, leichte zughilfe, leichte geburt, schwerer zug, schwere zughilfe, \
            kaiserschnitt",
        ),
        (
            Is(Mark::Vet),
            "tierarzt, tierarzt gerufen, tierarzt angerufen, tierarzt kommt, tierarzt ist da, tierarzt da, tierarzt \
            unterwegs, tierarzt ist unterwegs, tierarztin, tierarztin kommt, tierarztin gerufen, tierarztin ist da, vet, \
            ta gerufen, ta kommt, ta angerufen, ta ist da",
        ),
        (Dead, "tot, gestorben, verendet, eingegangen, ist tot"),
        (
            Is(Mark::CalfDead),
            "kalb verloren, hat das kalb verloren, kalb ist gestorben, kalb gestorben, kalb verendet, kalb ist verendet",
        ),
        (
            Noted(Mark::CalfDead, "born dead"),
            "totgeburt, tot geboren, totgeboren, kalb tot geboren, totgeborenes kalb, kalb totgeboren",
        ),
        (
            Is(Mark::TailRaised),
            "schwanz, schwanz hoch, schwanz ist hoch, schwanz oben, schwanz gehoben",
        ),
        (Is(Mark::Restless), "unruhig, ist unruhig, sehr unruhig"),
        (
            Is(Mark::BaggedUp),
            "euter voll, euter ist voll, volles euter, euter prall, euter ist prall, pralles euter, euter fullt sich, eutert \
            auf, aufgeeutert",
        ),
        (
            Is(Mark::Slack),
            "bander weich, bander sind weich, weiche bander, bander eingefallen, bander sind eingefallen, beckenbander weich, \
            baender weich, beckenbaender weich",
        ),
        (Is(Mark::Straining), "presst, prest, wehen, presswehen, sie presst, hat wehen, drangt"),
        (
            Is(Mark::Backward),
            "hinterbeine, hinterfusse, hinterfuse, hinterfuesse, hinterendlage, ruckwarts, rueckwaerts, kalb ruckwarts, kalb \
            liegt ruckwarts, kalb rueckwaerts, sohlen nach oben, sohlen oben",
        ),
        (
            Is(Mark::OneFoot),
            "ein fuss, ein fus, ein bein, 1 fuss, 1 fus, 1 bein, nur ein fuss, nur ein fus, nur ein bein",
        ),
        (
            Noted(Mark::OneFoot, "leg back"),
            "bein zuruck, ein bein zuruck, bein liegt zuruck, bein zurueck, karpalbeugehaltung",
        ),
        (
            Noted(Mark::OneFoot, "head back"),
            "kopf zuruck, kopf liegt zuruck, kopf zurueck, kopf verschlagen, kopf seitlich",
        ),
        (
            Noted(Mark::OneFoot, "head and no feet"),
            "nur kopf, nur der kopf, nur die nase, nur nase",
        ),
        (Is(Mark::TailOnly), "nur schwanz, nur der schwanz, steisslage, steislage"),
        (
            Is(Mark::Stained),
            "gelbes fruchtwasser, gelbes wasser, gelb, fruchtwasser gelb, fruchtwasser ist gelb, verfarbtes fruchtwasser, \
            mekonium",
        ),
        (Is(Mark::Bleeding), "blutet, blutung, blut, blutet stark, starke blutung, sie blutet"),
        (
            Is(Mark::Tongue),
            "zunge geschwollen, zunge ist geschwollen, geschwollene zunge, blaue zunge, zunge blau, zunge ist blau, dicke \
            zunge, zunge dick",
        ),
        (Is(Mark::Aborted), "verkalbt, hat verkalbt, abort, abortiert, verworfen, hat verworfen"),
        (Is(Mark::Breathing), "atmet, kalb atmet, kalb atmet gut, atmet gut"),
        (
            Is(Mark::Sternal),
            "brustlage, in brustlage, kalb in brustlage, kalb liegt auf der brust, liegt auf der brust, kalb sitzt",
        ),
        (
            Is(Mark::Trying),
            "versucht aufzustehen, kalb versucht aufzustehen, will aufstehen, kalb will aufstehen",
        ),
        (
            Is(Mark::Navel),
            "nabel, nabel gemacht, nabel desinfiziert, nabel getaucht, nabel versorgt, nabel gespruht, nabel jod, jod",
        ),
        (Is(Mark::CalfTemperature), "kalb temp, kalb temperatur, temp kalb, temperatur kalb"),
        (Is(Mark::Weight), "gewicht, wiegt, kalb wiegt, gewogen, geburtsgewicht, kalb gewicht"),
        (Is(Mark::Sex), "geschlecht"),
        (Is(Mark::Vigour), "vitalitat"),
        (Is(Mark::Fostered), "zugesetzt, kalb zugesetzt, angesetzt, kalb angesetzt"),
        (
            Is(Mark::Tagged),
            "ohrmarke, ohrmarken, ohrmarke nr, ohrmarke nummer, markiert, kalb markiert, gemarkt, ohrmarke drin",
        ),
        (
            Is(Mark::Discharge),
            "stinkender ausfluss, ausfluss stinkt, ausflus stinkt, eitriger ausfluss, fauliger ausfluss, ausfluss riecht, \
            stinkt hinten",
        ),
        (
            Is(Mark::Down),
            "liegt fest, kuh liegt fest, kuh liegt, festliegend, kommt nicht hoch, kuh kommt nicht hoch, kann nicht aufstehen, \
            steht nicht auf, kuh steht nicht auf, kuh kann nicht aufstehen",
        ),
        (Down, "liegt, liegt wieder, liegt noch, liegt immer noch"),
        (
            Is(Mark::Risen),
            "kuh steht, muttertier steht, kuh steht wieder, kuh ist auf, kuh wieder auf, kuh ist aufgestanden, steht wieder, wieder auf den \
            beinen",
        ),
        (
            Is(Mark::OffFeed),
            "frisst nicht, frist nicht, frisst schlecht, frisst nichts, kein appetit, will nicht fressen, frisst nicht mehr",
        ),
        (Is(Mark::Eating), "frisst, frist, frisst wieder, frisst gut, frisst wieder gut"),
        (
            Is(Mark::Wobbly),
            "wackelig, wackelt, schwankt, taumelt, torkelt, kalte ohren, ohren kalt, ohren sind kalt, milchfieber, hat \
            milchfieber, unsicher auf den beinen",
        ),
        (
            Is(Mark::Prolapse),
            "vorfall, prolaps, gebarmuttervorfall, gebarmutter draussen, gebarmutter raus, gebarmutter ist draussen, \
            gebarmutter ist raus, tragsackvorfall, tragsack draussen",
        ),
        (Is(Mark::HasMilk), "hat milch, milch ubrig, hat milch ubrig, viel milch, hat viel milch"),
        (
            Is(Mark::NeedsMother),
            "braucht mutter, braucht eine mutter, braucht amme, waise, waisenkalb",
        ),
        (
            Is(Mark::DamDead),
            "kuh verloren, kuh eingeschlafert, kuh gestorben, kuh verendet, kuh ist gestorben, kuh ist verendet",
        ),
        (Is(Mark::Collected), "abgeholt, kadaver abgeholt, tierkorper abgeholt, kalb abgeholt"),
        (Is(Mark::Registered), "gemeldet, kalb gemeldet, angemeldet, kalb angemeldet"),
        (
            Looked,
            "gesehen, angeschaut, nachgeschaut, nachgesehen, geschaut, kontrolliert, nachgeguckt, war da, war schauen, hab \
            geschaut, hab nachgeschaut, habe nachgesehen",
        ),
        (
            Nothing,
            "nichts, noch nichts, nichts zu sehen, noch nichts zu sehen, nix, noch nix, nix zu sehen, noch nix zu sehen, alles \
            ruhig, noch alles ruhig, nichts los, noch nichts los, nix los",
        ),
        (Is(Mark::FalseAlarm), "falsch, fehlalarm, falscher alarm, blinder alarm"),
        (Dam, "kuh, farse, kalbin, muttertier"),
        (She, "sie"),
        (
            Filler,
            "hat, ist, is, sind, die, das, der, ein, eine, ihr, jetzt, gerade, grad, eben, gerade eben, da, zu sehen, \
            sichtbar, draussen, raus, ich sehe, ich, schon, auch, auch schon, nummer, nr, tier, danke, uhr, hab, habe",
        ),
    ],
    calf_filler: "hat, ein, das, jetzt, gerade, grad, eben, uhr",
    finished_filler: "hat, ist, is, sind, die, das, der, ihr, jetzt, gerade, grad, eben, ich, schon, auch, nummer, nr, tier, danke, uhr",
    done_filler: "ich habe, hab, habe",
    out: "raus, draussen, da",
    half_day: "",
    colostrum_words: "von, aus, eigenes, gegeben, gefrorenes, per, mit, der, hab, ihr, ihm, bekommen",
    of_a_label: "wartezeit, wartezeiten, fleisch, milch",
    whose: "kann nicht aufstehen, steht nicht auf, kommt nicht hoch, wackelig, wackelt, schwankt, taumelt, torkelt, kalte ohren, \
        ohren kalt, ohren sind kalt, will nicht fressen",
    litres: "l, liter",
    millilitres: "ml",
    quarts: "",
    milk: "kolostrum, colostrum, biestmilch, biest, gedrencht, sonde, flasche",
    by_tube: "sonde, gedrencht, drencher, schlund",
    by_bottle: "flasche, eimer, nuckel",
    powder: "pulver",
    kilos: "kg, kilo",
    pounds: "",
    by_tape: "massband, band",
    by_eye: "geschatzt",
    by_scales: "waage, auf der waage",
    to_mother: "zu, bei, an, zu kuh, bei kuh, an kuh",
    before_animal: "bei, von, fur, an",
    before_time: "um, gegen, ca, seit",
    alert: "alarm, meldung, alert",
    code: "code",
    within: "in, in ca, in etwa, etwa, ca, innerhalb",
    minutes: "m, min, mins, minuten, minute",
    hours: "h, std, stunde, stunden",
    lengths: &[
        (30, "einer halben stunde, halben stunde, halbe stunde, ner halben stunde, dreissig"),
        (60, "einer stunde, eine stunde, ner stunde, sechzig"),
        (15, "einer viertelstunde, viertelstunde, funfzehn"),
        (5, "funf"),
        (10, "zehn"),
        (20, "zwanzig"),
        (40, "vierzig"),
    ],
    and: "und, u, &, +, /",
    but: "aber, dann",
    opening: "guten morgen, morgen, moin, guten abend, abend, servus, mahlzeit",
    greeting: "hallo, hi, hey, moin, servus, danke, dankeschon, vielen dank, merci, tschuss, gruss, grusse, viele grusse, lg, \
        vg, mfg, gruss gott, sorry, leute, jungs, chef, lowbell, hallo lowbell",
    to_somebody: "hallo, hi, hey, moin, servus, danke, sorry",
    negation: "nicht, nich, net, kein, keine, keinen, keiner, keins, keinerlei, nie, niemals, nichts, nix, ohne, weder, noch, \
        nein, ne, nee, no, not, kaum, fehlt, fehlen, null, 0, 👎, ❌, ✖, ✗, ✘, 🚫, ⛔, 🙅",
    question: "ist, hat, sind, wer, was, wann, wo, welche, welches, welcher, warum, wieso, wie, soll, sollen, kann, konnte, \
        konnt, darf, geht, habt, hast, bist, gibt, kommt, jemand, irgendwer",
    doubt: "vielleicht, evtl, eventuell, moglicherweise, wahrscheinlich, vermutlich, glaube, glaub, denke, denk, hoffe, \
        hoffentlich, unsicher, sicher, scheint, sieht, wie, wenn, falls, ob, sobald, bis, bevor, sollte, wurde, konnte, fast, \
        beinahe, bald, warte, warten, versuche, versuch, wollte, wohl, ungefahr, 🤷, 🤔, ❓, ❔",
    put_off: "spater, spaeter, halten, erinnere mich, erinner mich, frag nochmal, ruf nochmal an, nochmal anrufen, spater \
        nochmal, warte noch, hold, later",
    later: "spater, spaeter, nachher, morgen, ubermorgen, danach, nachmittag, abend, vormittag, fruh, fruhstuck, melken, \
        erst, irgendwann, nachste, nachsten, montag, dienstag, mittwoch, donnerstag, freitag, samstag, sonntag, bett, \
        schlafen, ins bett, ausser, statt, 😴, 💤, 🛌, 🛏",
    others: "frag, sag, ruf, rufe, lass, schick, jemand, anderer, andere, anders, du, dich, dir, dein, er, ihn, ihm, wir, \
        ihr beide, euch",
    ours: "antworte, antworten, antwort, reply, replying",
    taken_back: "falsche nummer, vergiss, vergiss es, irrtum, versehen, aus versehen, vertippt, quatsch, scherz, spass, \
        storniere, stornieren, doch nicht, test, testen",
    put: "hange, hangt, angelegt, angebracht, setze, gesetzt, ich habe angelegt, put",
    on: "an, auf, an kuh, bei, ist an, ist jetzt an, on",
    take: "nehme, genommen, abgenommen, entfernt, entferne, take",
    off: "ab, ist ab, ist runter, abgefallen, ist abgefallen, off",
    swap: "tausch, tausche, getauscht, ausgetauscht, wechsel, gewechselt, swap",
    swap_with: "mit, gegen, fur, und, &, +",
    battery: "batterie, batterien, neue batterie, neue batterien, akku",
    battery_filler: "in, fur, von, gewechselt, getauscht, neu, neue, hat, ist, bei",
    please: "bitte, jetzt, ok, danke",
    before_device: "der, die, das, den, sensor, gerat, halsband, den sensor, das halsband",
    off_whom: "von, kuh, farse",
    inside: insides::GERMAN,
    rota: rotas::GERMAN,
    hand: hands::GERMAN,
    vet_card: "tierarztkarte, tierarzt karte, karte fur tierarzt, karte tierarzt, karte, vet card",
    from: "von, von kuh, ab",
    calf: "kalb",
    sexes: ["bulle, stier, mannlich, m, bullenkalb", "kuhkalb, weiblich, w, kuh, farse"],
    beasts: Some(herds::GERMAN),
    eased: [
        "ohne hilfe, leichte geburt",
        "leichter zug, leichte zughilfe",
        "schwerer zug, schwere zughilfe",
        "kaiserschnitt",
    ],
};
