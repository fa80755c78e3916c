//! The words of French, with those of its cattle yards (the trade's words: common practice, no source).
//!
//! Apostrophes are gone here as everywhere: "j'arrive" is "jarrive".

use super::super::words::Going::{Ok as Okay, Plain, Yes};
use super::super::words::Phrase::{
    Bull, Calf, CalfOf, Dam, Dead, Down, Filler, Is, Looked, Noted, Nothing, She, Up, Which,
};
use super::super::words::Words;
use super::{hands, herds, insides, rotas};
use crate::herd::sign::Mark;

pub(super) const FRENCH: Words = Words {
    going: &[
        (
            Plain,
            "jarrive, j arrive, jy vais, j y vais, jy vai, je vais y aller, jy cours, jy fonce, jy suis presque, je viens, je \
            pars, je pars maintenant, je descends, je monte, en route, je suis en route, suis en route, sur la route, je suis \
            sur la route, en chemin, je suis en chemin, je men occupe, je m en occupe, jm en occupe, je men charge, je prends, \
            je le prends, je la prends, je vais voir, jvais voir, je vais la voir, je vais regarder, je regarde, je vais \
            verifier, jy retourne, je sors, je file, jy file, going",
        ),
        (
            Okay,
            "ok, okay, okey, oki, daccord, d accord, dac, entendu, ca marche, bien recu, recu, k, 👍",
        ),
        (Yes, "oui, ouais, ouai, voui, yes"),
    ],
    going_filler: "maintenant, tout, de, suite, la, merci, desole, deja, vite, direct, moi",
    going_where: "dehors, labas, vite, dessuite",
    toward: "a, a la, vers, vers la, pour, pour la, voir, voir la, chez",
    pass: &[
        (
            false,
            "peux pas, je peux pas, je ne peux pas, je n peux pas, j peux pas, peux pas venir, je peux pas venir, je ne peux pas \
            venir, je peux pas y aller, je ne peux pas y aller, peux pas y aller, pas moi, jy vais pas, je ny vais pas, jirai \
            pas, je nirai pas, pas possible, impossible, je passe, passe, pass, pas dispo, je suis pas dispo, je ne suis pas \
            disponible, pas disponible, je viens pas, je ne viens pas",
        ),
        (true, "non, nan, no"),
    ],
    pass_filler: "desole, desolee, maintenant, ce, soir, cette, nuit, la, merci, navre",
    marks: &[
        (
            Is(Mark::WaterBag),
            "poche, poche des eaux, poche deaux, poche d eaux, les eaux, eaux, poche percee, poche rompue, poche des eaux percee, \
            poche des eaux rompue, perdu les eaux, a perdu les eaux, elle a perdu les eaux, poche sortie, poche dehors, poche \
            crevee",
        ),
        (
            Is(Mark::Feet),
            "pattes, pieds, onglons, deux pattes, 2 pattes, deux pieds, 2 pieds, les deux pieds, les deux pattes, pattes \
            dehors, pieds dehors, pattes avant, pieds avant, pattes visibles, pieds visibles, les pattes, les pieds",
        ),
        (Is(Mark::Nose), "museau, mufle, nez, le museau, le mufle, le nez"),
        (Is(Mark::Progress), "progresse, ca avance, ca progresse, avance, ca vient, progres"),
        (Calf, "veau, veau vivant, veau en vie"),
        (CalfOf("bull"), "veau male, petit taureau, taurillon"),
        (CalfOf("heifer"), "velle, veau femelle, genisse veau, petite velle"),
        (Bull, "taureau, male"),
        (Noted(Mark::Sex, "bull"), "cest un male, c est un male, un male"),
        (
            Noted(Mark::Sex, "heifer"),
            "cest une femelle, c est une femelle, une femelle, cest une velle",
        ),
        (Noted(Mark::Vigour, "weak"), "veau faible, veau mou, veau est faible, veau tres faible"),
        (Noted(Mark::Vigour, "strong"), "veau vigoureux, veau vif, veau costaud, veau en forme"),
        (Noted(Mark::Vigour, "shivering"), "veau tremble, veau qui tremble, veau grelotte"),
        (Noted(Mark::Vigour, "cold mouth"), "bouche froide, la bouche froide, gueule froide"),
        (Noted(Mark::Calf, "single"), "un seul veau, seul veau, quun seul veau, simple"),
        (Which(0), "les deux, les deux veaux, tous les deux, les jumeaux"),
        (Which(1), "premier veau, veau 1, veau un, 1er veau"),
        (Which(2), "deuxieme veau, second veau, veau 2, veau deux, 2e veau, 2eme veau"),
        (Which(3), "troisieme veau, veau 3, veau trois, 3e veau, 3eme veau"),
        (Which(4), "quatrieme veau, veau 4, veau quatre, 4e veau, 4eme veau"),
        (
            Is(Mark::Calf),
            "vele, a vele, elle a vele, velee, ne, veau ne, veau est ne, le veau est ne, veau dehors, veau sorti, veau est sorti, \
            velage fini, premier veau ne, veau par terre, veau au sol",
        ),
        (
            Is(Mark::SecondCalf),
            "deuxieme veau ne, second veau ne, deuxieme veau sorti, second veau sorti, jumeau, jumeau ne, deuxieme veau dehors, \
            2e veau ne, 2eme veau ne",
        ),
        (Is(Mark::AllBorn), "tous nes, tout est sorti, tous sortis, tous dehors"),
        (Up, "debout, est debout, leve, sest leve, s est leve"),
        (
            Is(Mark::Up),
            "veau debout, veau est debout, veau leve, veau sur ses pattes, veau est leve, le veau est debout, veau sur pied, veau \
            sest leve",
        ),
        (
            Is(Mark::Sucked),
            "tete, a tete, il a tete, elle a tete, a bu, il a bu, tette, bu, veau tete, veau a tete, veau a bu, il tete, elle \
            tete, bien tete, a bien tete",
        ),
        (
            Is(Mark::Colostrum),
            "colostrum, colostrum donne, a eu le colostrum, colostrum bu, a eu son colostrum, colostrum pris, bu le colostrum",
        ),
        (
            Is(Mark::Placenta),
            "placenta, delivree, delivre, delivrance, a delivre, elle a delivre, delivrance faite, delivrance tombee, placenta \
            sorti, placenta tombe, placenta dehors, elle est delivree, est delivree, arriere faix, delivre tombe, sest delivree, \
            nettoyee, elle sest delivree",
        ),
        (
            Is(Mark::Temperature),
            "temperature, temp, fievre, sa temperature, temperature de la vache, temp vache, temp de la vache",
        ),
        (Is(Mark::Treated), "traitee, traite, soignee, pique, piquee, injecte"),
        (
            Is(Mark::Helped),
            "aidee, aide, sans aide, traction legere, tirage facile, traction forte, tirage difficile, cesarienne, aide facile",
        ),
        (
            Is(Mark::Vet),
            "veto, veterinaire, vet, veto appele, veterinaire appele, appele veto, jai appele le veto, jai appele le veterinaire, \
            veto arrive, le veto arrive, veto en route, le veto vient, veto la, veterinaire arrive, appele le veto",
        ),
        (Dead, "mort, morte, creve, crevee, est mort, est morte"),
        (
            Is(Mark::CalfDead),
            "perdu le veau, a perdu le veau, veau perdu, a perdu son veau, perdu son veau, le veau est mort",
        ),
        (
            Noted(Mark::CalfDead, "born dead"),
            "mort ne, mort nee, veau mort ne, ne mort, veau ne mort, mortne",
        ),
        (Is(Mark::TailRaised), "queue, queue levee, queue relevee, queue en lair, queue haute"),
        (Is(Mark::Restless), "agitee, agite, elle sagite, sagite, inquiete, tourne en rond"),
        (
            Is(Mark::BaggedUp),
            "pis plein, pis gonfle, mamelle pleine, mamelle gonflee, pis tendu, fait du pis, fait son pis",
        ),
        (
            Is(Mark::Slack),
            "ligaments laches, ligaments relaches, cassee, elle est cassee, ligaments fondus, ligaments tombes",
        ),
        (
            Is(Mark::Straining),
            "pousse, elle pousse, efforts, elle force, force, contractions, fait des efforts",
        ),
        (
            Is(Mark::Backward),
            "a lenvers, veau a lenvers, par larriere, pattes arriere, pieds arriere, vient par larriere, presentation posterieure, \
            posterieur, posterieurs, veau en posterieur",
        ),
        (
            Is(Mark::OneFoot),
            "un pied, une patte, 1 pied, 1 patte, un seul pied, une seule patte, quun pied, quune patte, seulement un pied, \
            seulement une patte",
        ),
        (
            Noted(Mark::OneFoot, "leg back"),
            "patte repliee, une patte repliee, patte en arriere, un membre replie, pied replie",
        ),
        (
            Noted(Mark::OneFoot, "head back"),
            "tete retournee, tete en arriere, tete tournee, tete repliee, tete de cote",
        ),
        (
            Noted(Mark::OneFoot, "head and no feet"),
            "que la tete, la tete seule, tete seule, seulement la tete",
        ),
        (Is(Mark::TailOnly), "que la queue, seulement la queue, queue seule, en siege, siege"),
        (
            Is(Mark::Stained),
            "liquide jaune, eaux jaunes, jaune, meconium, eaux sales, veau jaune, liquide teinte",
        ),
        (Is(Mark::Bleeding), "saigne, sang, elle saigne, saignement, saigne beaucoup, hemorragie"),
        (
            Is(Mark::Tongue),
            "langue gonflee, langue enflee, langue bleue, langue violette, la langue gonflee, la langue bleue",
        ),
        (Is(Mark::Aborted), "avorte, a avorte, avortement, elle a avorte"),
        (Is(Mark::Breathing), "respire, veau respire, il respire, respire bien, le veau respire"),
        (
            Is(Mark::Sternal),
            "sur le sternum, en sternal, sternal, veau sur le sternum, veau sur le ventre, assis, veau assis, sternale",
        ),
        (
            Is(Mark::Trying),
            "essaie de se lever, essaye de se lever, veau essaie de se lever, veau essaye de se lever, cherche a se lever, il \
            essaie de se lever",
        ),
        (
            Is(Mark::Navel),
            "nombril, cordon, nombril desinfecte, nombril fait, nombril trempe, iode, nombril iode, cordon desinfecte, cordon \
            fait",
        ),
        (
            Is(Mark::CalfTemperature),
            "temperature du veau, temperature de veau, temp du veau, temp veau, veau temp, temperature veau",
        ),
        (Is(Mark::Weight), "poids, pese, veau pese, poids de naissance, le veau pese"),
        (Is(Mark::Sex), "sexe"),
        (Is(Mark::Vigour), "vigueur"),
        (Is(Mark::Fostered), "adopte, veau adopte, veau mis, mis sous"),
        (
            Is(Mark::Tagged),
            "boucle, boucle numero, bouclee, boucle posee, boucles posees, veau boucle",
        ),
        (
            Is(Mark::Discharge),
            "pertes malodorantes, pertes qui puent, ecoulement malodorant, pertes puantes, ca pue derriere, ecoulement qui pue, \
            pertes sales",
        ),
        (
            Is(Mark::Down),
            "vache couchee, vache a terre, vache par terre, se leve pas, ne se leve pas, elle se leve pas, elle ne se leve pas, \
            narrive pas a se lever, peut pas se lever, ne peut pas se lever, vache ne se leve pas, vache se leve pas",
        ),
        (Down, "couchee, a terre, par terre, toujours couchee, encore couchee"),
        (
            Is(Mark::Risen),
            "vache debout, mere debout, vache relevee, vache est debout, elle sest relevee, vache sest relevee, relevee, vache sur pied",
        ),
        (
            Is(Mark::OffFeed),
            "mange pas, ne mange pas, elle mange pas, elle ne mange pas, mange plus, ne mange plus, pas dappetit, ne veut pas \
            manger, mange rien",
        ),
        (
            Is(Mark::Eating),
            "mange, elle mange, mange bien, remange, elle remange, mange a nouveau, mange de nouveau",
        ),
        (
            Is(Mark::Wobbly),
            "titube, vacille, chancelle, oreilles froides, fievre de lait, elle titube, fievre vitulaire, hypocalcemie, oreilles \
            sont froides",
        ),
        (
            Is(Mark::Prolapse),
            "prolapsus, matrice sortie, matrice dehors, renversement, uterus dehors, uterus sorti, retournement de matrice, la \
            matrice est sortie, renversement de matrice",
        ),
        (
            Is(Mark::HasMilk),
            "a du lait, beaucoup de lait, a beaucoup de lait, lait en trop, du lait en trop",
        ),
        (
            Is(Mark::NeedsMother),
            "orphelin, orpheline, besoin dune mere, cherche une mere, sans mere",
        ),
        (
            Is(Mark::DamDead),
            "vache morte, vache perdue, perdu la vache, vache crevee, vache euthanasiee, la vache est morte",
        ),
        (
            Is(Mark::Collected),
            "ramasse, enleve, cadavre enleve, cadavre ramasse, equarrisseur passe, equarrissage passe",
        ),
        (Is(Mark::Registered), "declare, veau declare, enregistre, notifie, declaree"),
        (
            Looked,
            "vu, vue, regarde, regardee, verifie, controle, passe voir, je lai vue, je lai regardee, jai regarde, jai vu, jai \
            verifie, jete un oeil, jete loeil, jai ete voir",
        ),
        (
            Nothing,
            "rien, rien encore, encore rien, toujours rien, rien pour linstant, pour linstant rien, rien a voir, rien a signaler, \
            ras, r a s, rien de neuf, rien pour le moment, pour le moment rien, tout est calme, tout calme",
        ),
        (Is(Mark::FalseAlarm), "faux, fausse, fausse alerte, fausse alarme"),
        (Dam, "vache, genisse, mere"),
        (She, "elle"),
        (
            Filler,
            "a, est, sont, la, le, les, un, une, des, ya, y a, il y a, on voit, je vois, on, il, je, ai, jai, maintenant, deja, \
            juste, a linstant, dehors, visible, visibles, numero, animal, merci, aussi, bien, fait, la aussi",
        ),
    ],
    calf_filler: "a, un, le, la, maintenant, juste, est, il, elle",
    finished_filler: "a, est, sont, la, le, les, un, une, maintenant, deja, juste, a linstant, numero, animal, merci, aussi, il, elle, je, ai, \
        jai, on",
    done_filler: "jai, je lai, fait",
    out: "dehors, sorti, sortie",
    half_day: "",
    colostrum_words: "de, du, par, a, la, au, donne, propre, congele, sa, mere, le, ai, jai",
    of_a_label: "delai, delais, viande, lait",
    whose: "se leve pas, ne se leve pas, narrive pas a se lever, peut pas se lever, ne peut pas se lever, titube, vacille, \
        chancelle, oreilles froides, oreilles sont froides, ne veut pas manger",
    litres: "l, litre, litres",
    millilitres: "ml",
    quarts: "",
    milk: "colostrum, sonde, biberon",
    by_tube: "sonde, drenche, drenchage",
    by_bottle: "biberon, tetine, bouteille, seau",
    powder: "poudre",
    kilos: "kg, kgs, kilo, kilos",
    pounds: "",
    by_tape: "ruban, au ruban",
    by_eye: "estime, a loeil",
    by_scales: "balance, bascule, a la bascule",
    to_mother: "a, sous, a la, sous la, avec, avec la, par la",
    before_animal: "de, pour, chez, du, sur",
    before_time: "a, vers, depuis",
    alert: "alerte, alarme, alert",
    code: "code",
    within: "dans, dans environ, environ, dici, d ici, en, vers",
    minutes: "m, mn, min, mins, minute, minutes",
    hours: "h, heure, heures",
    lengths: &[
        (30, "une demi heure, une demie heure, demi heure, demie heure, trente"),
        (60, "une heure, soixante"),
        (15, "un quart dheure, un quart d heure, quinze"),
        (5, "cinq"),
        (10, "dix"),
        (20, "vingt"),
        (40, "quarante"),
    ],
    and: "et, &, +, /",
    but: "mais, puis",
    opening: "bonjour, bonsoir, salut, bonne nuit",
    greeting: "bonjour, bonsoir, salut, coucou, merci, merci beaucoup, cordialement, bien a vous, a plus, bises, desole, desolee, \
        pardon, chef, les gars, lowbell, bonjour lowbell, salut lowbell",
    to_somebody: "bonjour, bonsoir, salut, coucou, merci, desole, desolee, pardon",
    negation: "pas, ne, ni, jamais, aucun, aucune, rien, sans, non, nan, no, not, plus, guere, manque, manquent, zero, 0, 👎, ❌, \
        ✖, ✗, ✘, 🚫, ⛔, 🙅",
    question: "est ce, estce, qui, que, quoi, quand, ou, quel, quelle, quels, quelles, pourquoi, comment, combien, peux tu, \
        peuxtu, quelquun, dois je, doisje, faut il, fautil",
    doubt: "peut etre, peutetre, probablement, possiblement, surement, je pense, pense, je crois, crois, suppose, \
        espere, jespere, semble, on dirait, dirait, si, quand, jusque, jusqua, avant, presque, bientot, devrait, attends, \
        jattends, essaie, essaye, voulais, sais pas, 🤷, 🤔, ❓, ❔",
    put_off: "plus tard, apres, rappelle moi, rappelez moi, rappelle plus tard, tout a lheure, reporte, reporter, later, hold",
    later: "plus tard, tard, apres, demain, matin, soir, tout a lheure, lheure, ensuite, traite du matin, traire, petit dejeuner, \
        aube, dabord, tantot, lundi, mardi, mercredi, jeudi, vendredi, samedi, dimanche, lit, dormir, dodo, suis occupe, suis occupee, \
        sauf, 😴, 💤, 🛌, 🛏",
    others: "demande, dis, appelle, appelez, envoie, laisse, quelquun, autre, tu, te, toi, vous, lui, eux, ton",
    ours: "reponds, repondez, reply, replying",
    taken_back: "trompe, me suis trompe, je me suis trompe, erreur, oublie, oubliez, laisse tomber, blague, annule, annuler, \
        mauvais numero, essai, test",
    put: "mis, mets, pose, jai mis, jai pose, put",
    on: "sur, a, sur la, a la, est sur, on",
    take: "enleve, retire, jai enleve, jai retire, take",
    off: "enleve, retire, tombe, est tombe, off",
    swap: "echange, change, echanger, swap",
    swap_with: "avec, contre, pour, et, &, +",
    battery: "pile, piles, batterie, pile neuve, piles neuves, batterie neuve",
    battery_filler: "dans, de, pour, changee, changees, neuve, neuves, a, sur, est",
    please: "svp, stp, maintenant, ok, merci, sil te plait, sil vous plait",
    before_device: "le, la, les, capteur, collier, le capteur, le collier",
    off_whom: "de, vache, genisse, de la",
    inside: insides::FRENCH,
    rota: rotas::FRENCH,
    hand: hands::FRENCH,
    vet_card: "fiche veto, fiche veterinaire, fiche pour le veto, fiche pour le veterinaire, fiche, vet card",
    from: "de, de la, de la vache",
    calf: "veau, velle",
    sexes: ["male, taureau, m", "femelle, velle, genisse, f"],
    beasts: Some(herds::FRENCH),
    eased: [
        "sans aide",
        "traction legere, tirage facile, aide facile",
        "traction forte, tirage difficile",
        "cesarienne",
    ],
};
