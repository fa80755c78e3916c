//! French. Trade words are the translator's own, from memory: no glossary was at hand.

use super::Phrases;

pub(super) const PHRASES: Phrases = Phrases {
    and: "et",
    day_unit: "j",
    one_day: "1 jour",
    days: "{n} jours",
    more: "{n} de plus",
    and_more: "et {n} de plus",
    somebody: "Quelqu'un",
    nobody: "personne",
    with_animal: " avec {animal}",
    on_animal: " sur {animal}",
    until: " jusqu'à {at}",

    mind: "Gare à elle ! ",
    no_dam: "aucune bête",
    herd: "Troupeau",
    rota: "Gardes",
    drill: "DRILL/EXERCICE",
    drill_short: "répondez comme pour un vêlage ; n'y allez pas",
    unwatched_none: "aucune sans surveillance",
    unwatched_one: "1 bête sans surveillance",
    unwatched: "{n} bêtes sans surveillance",
    one_dam: "1 bête",
    dams: "{n} bêtes",
    calf_no: "petit {n}",
    n_in: "{n} en {span}",
    n_of: "{n} sur {of}",
    never_heard: "jamais entendu",
    day: "jour {n}",
    day_range: "jour {from} à {until}",
    by_days: "de {days}",
    by_days_least: "de {days} au moins",
    no_word_of_one: "sans nouvelles de {who} : ",
    no_word_of: "sans nouvelles de {n} : ",
    no_backup: "sans renfort ",
    ill_nonsense: "insensé",
    ill_jumps: "fait des sauts",
    ill_flat: "ne varie pas",
    ill_off: "tombé",
    ill_clock: "horloge fausse",
    ill_not_understood: "illisible",
    ill_battery_low: "pile faible",
    ill_battery_failing: "pile bientôt vide",
    ill_offline: "hors ligne",
    ill_restarts: "redémarre",

    go_and_look: "Allez voir.",
    late_mail: "En retard de {span} : nous étions arrêtés.",
    late_text: " Retard {span}, nous étions arrêtés",
    look_for: "Regardez : {look}",
    act: "Si c'est le cas : {act}",
    unsure: "Un doute ? Appelez {who}.",
    asked_of_vet: "Pour vous, vétérinaire : {act}",
    look_of_vet: "Sur place on regarde : {look}",
    unsure_of_vet: "Pas clair ? Appelez {who}.",
    any_owner: "votre vétérinaire",
    any_helper: "le responsable",
    any_vet: "la ferme",
    helper_of_dam: "Regardez du dehors, ne fouillez pas. Appelez {call}.",
    helper_of_gear: "Ne touchez que ce qu'on vous a montré ; sinon {call}.",
    vet_of_dam: "On vous appellera peut-être. Personne n'a dit plus.",
    vet_of_gear: "On ne vous demande rien.",
    look_at_dam: "comment elle est, si elle mange, ce qu'on voit derrière",
    look_at_gear: "ce qui est nommé plus haut",
    unsure_short: " Un doute : {who}.",
    others_told: "Aux autres on dit : {act}",
    with_her: "{who} est avec elle ou en route.",
    how_to_answer: "
Répondez d'un mot ou deux :
  j'y vais    vous y allez ; les autres savent que vous l'avez
  je passe    vous ne pouvez pas ; on appelle aussitôt le suivant
  pieds 0210  ce que vous voyez, avec l'heure si ce n'est pas maintenant
              (poche, pieds, mufle, veau, veau debout, a tété, délivrée, vue)
",
    end_of_text: " Répondez j'y vais ou je passe.",
    not_alone: " Pas seul.",
    always: "
Ce programme ne remplace ni votre vétérinaire ni vos propres yeux. Suivez les règles du lieu.
",
    full: "
Avant d'entrer
  Jamais seul si on peut l'éviter ; dites où vous êtes.
  Sachez d'abord par où sortir. Une mère qui vient de mettre bas peut charger n'importe qui.
  Gants, et lavez-vous après. Les femmes enceintes à l'écart des mises bas et des délivrances.
  Jamais de véhicule pour tirer ; deux personnes au plus, et seulement quand elle pousse.
Ce programme ne remplace ni votre vétérinaire ni vos propres yeux. Suivez les règles du lieu.
",
    aborted: "
Un avortement
  Gants, lunettes et masque : les liquides peuvent contaminer les gens. Lavez-vous après.
  Les femmes enceintes à l'écart, de la litière et des vêtements sales aussi. De même qui a une valve du cœur abîmée.
  Appelez le vétérinaire avant de rien ranger. Gardez pour lui le petit et la délivrance, hors de portée des chiens.
  Isolez-la, et surveillez les autres.
  Souvent un avortement doit être déclaré : interrogez le vétérinaire sur la brucellose et les règles du lieu.
  Fièvre ou grippe dans les semaines qui suivent : voyez un médecin, et dites ce que vous avez touché.
",
    second_stage: "Expulsion {total}, rien de neuf en {new}",
    nothing_new: "Rien de neuf en {new}",
    stay: "Ne la déplacez pas.",
    pen_her: "Si vous l'enfermez, maintenant.",
    says_move: "déplacez",
    taken: "{who} s'en charge. N'y allez que si {who} le demande.",
    over: "Cette alerte est finie : {because}.",

    clock_began: "Le chronomètre part de {at}, sa limite est {limit}.",
    clock_of_calf: "Le chronomètre du petit {n} part de {at}, sa limite est {limit}.",
    why_since: "{why}. Depuis {at}.",
    last_heard: "Entendu pour la dernière fois : {at}.",
    listened: "À l'écoute depuis {at}.",
    ill_since: "Depuis {at} le capteur va mal ({ill}) : {why}.",
    ill_blind: "Ce qu'il dit n'est pas un signe d'elle : tant qu'il n'est pas réparé, voyez-la vous-même.",
    trouble: "Depuis {at} : {why}.",
    gateway: "Rien n'est passé par là depuis {at}. Rien d'autre ne surveille : {animals}.",
    alone: "Entré{her} à {since}, devait sortir à {until}, et n'a pas répondu.
Qui voit cette personne répond \"{who} est dehors\".",
    unwatched_mail: "Aucun appareil, aucun dernier regard ne couvre : {animals}.
Répondez ce que vous voyez de chacune, comme \"{one} vue\".",
    uncovered_nobody: "Personne n'est de garde",
    uncovered_nobody_of: "Personne ne prend la garde {rota}",
    uncovered_backup: "Personne d'autre ne renforce qui est de garde",
    uncovered_backup_of: "Personne d'autre ne renforce la garde {rota}",
    uncovered_unproven: "{what}, {hours}.
Rien ne montre encore qu'un appel atteint {who} : faites répondre à ce qui a été demandé, ou inscrivez quelqu'un d'autre. On appelle quand même.",
    uncovered_find: "{what}, {hours}.
Trouvez quelqu'un et inscrivez-le dans les gardes ; qui était malade répond \"well\" dès que possible.",
    drill_mail: "Ceci est un exercice : rien n'a commencé. Il suit la même échelle et les mêmes lignes qu'un vêlage, et finit avec le premier qui répond \"j'y vais\", ou à {at}.",
    ahead: "C'est peut-être {when} : un tel capteur prévient d'autant.",
    ahead_short: " C'est peut-être {when}.",
    ahead_now: "maintenant",
    ahead_hours: "dans quelques heures",
    ahead_day: "d'ici un jour",
    alert_line: "Alerte {no}, code {code}, priorité {priority}. Règle : {rule}.",
    source: "Source : {source}.",
    priority_low: "basse",
    priority_medium: "moyenne",
    priority_high: "haute",
    dam_line: "Mère {animal}, {kind}, {place}.",
    place_unknown: "lieu non noté",
    cow: "vache",
    heifer: "génisse",
    temper: "Son caractère est {n} sur 6. Sachez par où sortir avant d'entrer ; pas seul, jamais entre elle et son petit.",
    noted_of_her: "Noté d'elle : {notes}.",
    noted_short: "noté : {notes}",
    mind_short: "gare à elle",

    counted: "{sign} : {n} en {span}, limite {limit}",
    over_edge: "{sign} {amount}, plus de {edge}",
    under_edge: "{sign} {amount}, moins de {edge}",
    held: " depuis {span}",
    changed_hour: "{sign} {amount}, était {before} à cette heure les {span} d'avant",
    changed_over: "{sign} {amount}, était {before} les {span} d'avant",
    seen: "{sign} vu sur {n} de {of} images",
    not_so: "pas le cas : {what}",
    due_past: "{days} après le dernier jour de son terme",
    due_early: "{days} avant son terme",
    due_lost_seen: "avortement, quelqu'un l'a vu",
    due_lost: "{days} trop tôt pour être à terme",
    denies_one: "{who} ne le dit pas",
    denies: "{who} ne le disent pas",
    unheard_one: "{who} ne s'entend pas",
    unheard: "{who} ne s'entendent pas",

    one_matter: "1 affaire",
    matters: "{n} affaires",
    while_up: "Puisque vous êtes debout, {matters}",
    more_of: " et {n} de plus",
    passed_unseen: "Passé tout seul avant que quelqu'un réponde :",
    also: "Aussi : {named}.",
    and_n_more: "Et {n} de plus.",
    end_of_several: " Répondez j'y vais, ou un code.",
    how_to_answer_several: "
Répondez j'y vais : tout cela est à vous. Ou nommez-en une par son code : j'y vais, je passe, ou ce que vous voyez.
",

    yours: "Vous avez l'alerte {no} jusqu'à {until}. Répondez ce que vous voyez.",
    also_coming: "{who} a l'alerte {no}. Noté que vous venez aussi.",
    not_open: "L'alerte {no} n'est pas ouverte.",
    passed: "Noté : vous passez l'alerte {no}. On appelle le suivant.",
    passed_later: "Noté : vous passez l'alerte {no}. Le suivant le saura à {at}.",
    none_open: "Aucune alerte n'est ouverte.",
    open: "Ouvertes :",
    has_it: " ({who} s'en charge)",
    has_it_text: ", {who} s'en charge.",
    not_understood: "Nous n'avons pas compris. Répondez j'y vais, je passe, ou ce que vous voyez, comme \"114 pieds 0210\" (poche, pieds, mufle, veau, veau debout, a tété, délivrée, vue, fausse alerte).",
    which_one: "De quelle alerte parlez-vous ? Répondez par son code.",
    is_over: "L'alerte {no} ({code}) est finie : {because}.",
    waits: "L'alerte {no} attend jusqu'à {until}.",
    goes_round: "Puis elle rappelle.",
    not_so_long: "L'alerte {no} ne peut pas attendre autant : {most} au plus. Elle n'est pas remise ; on appelle d'autres.",
    has_already: "{who} a déjà l'alerte {no}.",
    noted_marks: "Noté : {n} constats.",

    on_duty: "Vous êtes de garde{until}.",
    nothing_open: "Rien d'ouvert.",
    begun: "Commencé : {dams}.",
    in_windows: "À terme : {dams}.",
    sensors_odd: "Capteurs à voir : {n}.",
    alone_behind: "Personne derrière vous.",
    behind: "Derrière vous : {who}.",

    welcome: "Veille de nuit de {farm}, pour {who}. {calls} {asks}",
    welcome_vet: "Elle vous appellera peut-être ici si une mère a besoin du vétérinaire.",
    welcome_people: "Elle vous appelle ici quand une mère a besoin de quelqu'un.",
    ask_ready: "Répondez PRÊT, nous saurons que cela arrive.",
    ask_again: "Rien n'est revenu de vous depuis {date} : répondez PRÊT.",
    thanks: "Merci, {who} : les appels vous arrivent ici.",
    not_this_way: "Merci, {who}, mais aucun appel ne passe par ici : répondez à ce qui vous a été demandé.",

    are_you_out: "Êtes-vous dehors ? Entré{her} à {since}. Répondez dehors, ou encore dedans.",
    in_now: "Vous êtes dedans{her} dès maintenant. Répondez dehors avant {until}, {else_what}.",
    else_sent: "sinon on envoie les autres voir",
    else_none: "aucune règle ne vous cherche",
    help_called: "On appelle les autres vers vous. Si vous êtes blessé, appelez aussi le 112. Répondez dehors quand vous êtes à l'abri.",
    help_none: "Aucune règle n'appelle pour vous : appelez le 112 ou la personne la plus proche.",
    out_noted: "Noté : {who} est dehors, après {span}.",
    not_in: "{who} n'était pas noté dedans. Si c'est le veau, répondez veau ; pour vous, dedans et dehors.",
};
