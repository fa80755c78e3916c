//! German. Trade words are the translator's own, from memory: no glossary was at hand.

use super::Phrases;

pub(super) const PHRASES: Phrases = Phrases {
    and: "und",
    day_unit: "Tg",
    one_day: "1 Tag",
    days: "{n} Tage",
    more: "{n} weitere",
    and_more: "und {n} weitere",
    somebody: "Jemand",
    nobody: "niemand",
    with_animal: " bei {animal}",
    on_animal: " an {animal}",
    until: " bis {at}",

    mind: "Vorsicht, Tier! ",
    no_dam: "kein Tier",
    herd: "Herde",
    rota: "Dienstplan",
    drill: "DRILL/ÜBUNG",
    drill_short: "antworte wie bei einer Geburt; niemand muss hin",
    unwatched_none: "kein Tier unbewacht",
    unwatched_one: "1 Tier unbewacht",
    unwatched: "{n} Tiere unbewacht",
    one_dam: "1 Tier",
    dams: "{n} Tiere",
    calf_no: "Jungtier {n}",
    n_in: "{n} in {span}",
    n_of: "{n} von {of}",
    never_heard: "nie gehört",
    day: "Tag {n}",
    day_range: "Tag {from} bis {until}",
    by_days: "um {days}",
    by_days_least: "um mindestens {days}",
    no_word_of_one: "kein Wort von {who}: ",
    no_word_of: "kein Wort von {n}: ",
    no_backup: "keine Vertretung ",
    ill_nonsense: "Unsinn",
    ill_jumps: "springt",
    ill_flat: "bleibt gleich",
    ill_off: "abgefallen",
    ill_clock: "Uhr falsch",
    ill_not_understood: "unverständlich",
    ill_battery_low: "Batterie schwach",
    ill_battery_failing: "Batterie geht zu Ende",
    ill_offline: "nicht verbunden",
    ill_restarts: "startet neu",

    go_and_look: "Geh nachsehen.",
    late_mail: "Um {span} zu spät: wir waren weg.",
    late_text: " {span} zu spät, wir waren weg",
    look_for: "Sieh nach: {look}",
    act: "Wenn ja: {act}",
    unsure: "Unsicher? Ruf {who} an.",
    asked_of_vet: "Für Sie als Tierarzt: {act}",
    look_of_vet: "Dort wird nachgesehen: {look}",
    unsure_of_vet: "Unklar? Bitte {who} anrufen.",
    any_owner: "deinen Tierarzt",
    any_helper: "wer hier das Sagen hat",
    any_vet: "den Hof",
    helper_of_dam: "Von außen ansehen, nicht hineingreifen. {call} anrufen.",
    helper_of_gear: "Nur anfassen, was man dir gezeigt hat; sonst {call} rufen.",
    vet_of_dam: "Vielleicht ruft man Sie. Mehr hat noch niemand gesagt.",
    vet_of_gear: "Kein Auftrag für Sie.",
    look_at_dam: "wie sie steht und frisst, und was hinten zu sehen ist",
    look_at_gear: "was oben genannt ist",
    unsure_short: " Unsicher: {who}.",
    others_told: "Den anderen ist gesagt: {act}",
    with_her: "{who} ist bei ihr oder unterwegs.",
    how_to_answer: "
Antworte mit ein, zwei Wörtern:
  gehe         du gehst; die anderen erfahren, dass du es hast
  passe        du kannst nicht; gleich wird der Nächste gerufen
  klauen 0210  was du siehst, mit der Uhrzeit, wenn nicht jetzt
               (blase, klauen, nase, kalb, kalb steht, getrunken, nachgeburt, gesehen)
",
    end_of_text: " Antworte gehe oder passe.",
    not_alone: " Nicht allein.",
    always: "
Dieses Programm ersetzt weder den Tierarzt noch die eigenen Augen. Örtliche Vorschriften beachten.
",
    full: "
Bevor du hineingehst
  Nie allein, wenn es sich vermeiden lässt; sag, wo du bist.
  Erst den Fluchtweg kennen. Ein frisches Muttertier kann auf jeden losgehen.
  Handschuhe, danach waschen. Schwangere bleiben von Geburten und Nachgeburten weg.
  Nie mit einem Fahrzeug ziehen; höchstens zwei Leute, und nur während sie presst.
Dieses Programm ersetzt weder den Tierarzt noch die eigenen Augen. Örtliche Vorschriften beachten.
",
    aborted: "
Eine Fehlgeburt
  Handschuhe, Augenschutz und Maske: die Flüssigkeiten können Menschen anstecken. Danach waschen.
  Schwangere bleiben weg, auch von Einstreu und schmutziger Kleidung. Ebenso, wer einen Herzklappenfehler hat.
  Tierarzt rufen, bevor etwas weggeräumt wird. Frucht und Nachgeburt für ihn aufheben, vor Hunden sicher.
  Das Tier von den anderen trennen und die anderen beobachten.
  Vielerorts ist ein Abort zu melden: den Tierarzt nach Brucellose und den örtlichen Vorschriften fragen.
  Fieber oder Grippe in den Wochen danach: zum Arzt, und sagen, was du angefasst hast.
",
    second_stage: "Austreibung {total}, seit {new} nichts Neues",
    nothing_new: "Seit {new} nichts Neues",
    stay: "Nicht umtreiben.",
    pen_her: "Wenn in die Box, dann jetzt.",
    says_move: "umtreiben",
    taken: "{who} hat es. Du musst nicht hin, außer {who} bittet darum.",
    over: "Diese Meldung ist vorbei: {because}.",

    clock_began: "Die Uhr begann um {at}, ihre Grenze ist {limit}.",
    clock_of_calf: "Die Uhr von Jungtier {n} begann um {at}, ihre Grenze ist {limit}.",
    why_since: "{why}. Seit {at}.",
    last_heard: "Zuletzt gehört: {at}.",
    listened: "Wir hören zu seit {at}.",
    ill_since: "Seit {at} ist der Sensor gestört ({ill}): {why}.",
    ill_blind: "Was er sagt, ist kein Zeichen von ihr: bis er geht, sieh selbst nach ihr.",
    trouble: "Seit {at}: {why}.",
    gateway: "Darüber kam nichts mehr seit {at}. Sonst bewacht niemand: {animals}.",
    alone: "Ging{her} um {since} hinein, wollte um {until} draußen sein und hat nicht geantwortet.
Wer die Person sieht, antwortet \"{who} ist draußen\".",
    unwatched_mail: "Kein Gerät und kein letzter Blick deckt: {animals}.
Antworte, was du von jedem siehst, etwa \"{one} gesehen\".",
    uncovered_nobody: "Niemand hat Dienst",
    uncovered_nobody_of: "Niemand übernimmt die Schicht {rota}",
    uncovered_backup: "Niemand sonst vertritt, wer Dienst hat",
    uncovered_backup_of: "Niemand sonst vertritt die Schicht {rota}",
    uncovered_unproven: "{what}, {hours}.
Noch zeigt nichts, dass ein Ruf {who} erreicht: sorge dafür, dass die Frage beantwortet wird, oder trag jemand anderen ein. Gerufen wird trotzdem.",
    uncovered_find: "{what}, {hours}.
Such jemanden und trag ihn in den Plan ein; wer krank war, antwortet \"well\", sobald es wieder geht.",
    drill_mail: "Das ist eine Übung: nichts hat begonnen. Sie geht über dieselbe Leiter und dieselben Leitungen wie eine Geburt und endet mit dem Ersten, der \"gehe\" antwortet, oder um {at}.",
    ahead: "Es kann {when} sein: so weit voraus meldet ein solcher Sensor.",
    ahead_short: " Es kann {when} sein.",
    ahead_now: "jetzt",
    ahead_hours: "in einigen Stunden",
    ahead_day: "binnen eines Tages",
    alert_line: "Meldung {no}, Kennung {code}, Dringlichkeit {priority}. Regel: {rule}.",
    source: "Quelle: {source}.",
    priority_low: "niedrig",
    priority_medium: "mittel",
    priority_high: "hoch",
    dam_line: "Tier {animal}, {kind}, {place}.",
    place_unknown: "Ort nicht notiert",
    cow: "Kuh",
    heifer: "Färse",
    temper: "Ihr Wesen ist {n} von 6. Vor dem Hineingehen den Fluchtweg kennen; nicht allein, nie zwischen sie und das Jungtier.",
    noted_of_her: "Notiert: {notes}.",
    noted_short: "notiert: {notes}",
    mind_short: "Vorsicht",

    counted: "{sign}: {n} in {span}, Grenze {limit}",
    over_edge: "{sign} {amount}, über {edge}",
    under_edge: "{sign} {amount}, unter {edge}",
    held: " seit {span}",
    changed_hour: "{sign} {amount}, war {before} zu dieser Stunde in {span} davor",
    changed_over: "{sign} {amount}, war {before} in {span} davor",
    seen: "{sign} auf {n} von {of} Bildern",
    not_so: "nicht so: {what}",
    due_past: "{days} nach dem letzten Tag ihrer Zeit",
    due_early: "{days} vor ihrer Zeit",
    due_lost_seen: "verloren, wie jemand gesehen hat",
    due_lost: "{days} zu früh, um reif zu sein",
    denies_one: "{who} sagt es nicht",
    denies: "{who} sagen es nicht",
    unheard_one: "{who} ist nicht zu hören",
    unheard: "{who} sind nicht zu hören",

    one_matter: "1 Sache",
    matters: "{n} Sachen",
    while_up: "Wenn du schon auf bist, {matters}",
    more_of: " und {n} weitere",
    passed_unseen: "Von selbst vorbei, bevor jemand geantwortet hatte:",
    also: "Auch: {named}.",
    and_n_more: "Und {n} weitere.",
    end_of_several: " Antworte gehe, oder Kennung.",
    how_to_answer_several: "
Antworte gehe: all das ist deins. Oder nenne eines bei seiner Kennung: gehe, passe, oder was du siehst.
",

    yours: "Du hast Meldung {no} bis {until}. Antworte, was du siehst.",
    also_coming: "{who} hat Meldung {no}. Notiert, dass du auch kommst.",
    not_open: "Meldung {no} ist nicht offen.",
    passed: "Notiert: du gibst Meldung {no} weiter. Der Nächste wird gerufen.",
    passed_later: "Notiert: du gibst Meldung {no} weiter. Der Nächste erfährt es um {at}.",
    none_open: "Keine Meldung ist offen.",
    open: "Offen:",
    has_it: " ({who} hat es)",
    has_it_text: ", {who} hat es.",
    not_understood: "Das haben wir nicht verstanden. Antworte gehe, passe, oder was du siehst, etwa \"114 klauen 0210\" (blase, klauen, nase, kalb, kalb steht, getrunken, nachgeburt, gesehen, fehlalarm).",
    which_one: "Welche Meldung meinst du? Antworte mit ihrer Kennung.",
    is_over: "Meldung {no} ({code}) ist vorbei: {because}.",
    waits: "Meldung {no} wartet bis {until}.",
    goes_round: "Dann wird wieder gerufen.",
    not_so_long: "Meldung {no} kann nicht so lange warten: höchstens {most}. Sie ist nicht aufgeschoben; andere werden gerufen.",
    has_already: "{who} hat Meldung {no} schon.",
    noted_marks: "Notiert: {n} Angaben.",

    on_duty: "Du hast Dienst{until}.",
    nothing_open: "Nichts ist offen.",
    begun: "Begonnen: {dams}.",
    in_windows: "In ihrer Zeit: {dams}.",
    sensors_odd: "Sensoren anzusehen: {n}.",
    alone_behind: "Niemand vertritt dich.",
    behind: "Deine Vertretung: {who}.",

    welcome: "Nachtwache von {farm}, für {who}. {calls} {asks}",
    welcome_vet: "Sie ruft Sie hier vielleicht, wenn ein Tier den Tierarzt braucht.",
    welcome_people: "Sie ruft dich hier, wenn ein Tier jemanden braucht.",
    ask_ready: "Antworte BEREIT, dann wissen wir, dass es ankommt.",
    ask_again: "Seit {date} kam nichts zurück: antworte BEREIT.",
    thanks: "Danke, {who}: Rufe kommen hier an.",
    not_this_way: "Danke, {who}, aber kein Ruf von uns geht diesen Weg: antworte dem, was gefragt hat.",

    are_you_out: "Bist du draußen? Du gingst{her} um {since} hinein. Antworte draußen, oder nochmals drin.",
    in_now: "Du bist{her} jetzt drin. Antworte draußen bis {until}, {else_what}.",
    else_sent: "sonst werden die anderen geschickt",
    else_none: "keine Regel sucht dich",
    help_called: "Die anderen werden jetzt zu dir gerufen. Wenn du verletzt bist, ruf auch 112. Antworte draußen, wenn du in Sicherheit bist.",
    help_none: "Keine Regel ruft jemanden für dich: ruf 112 oder wer am nächsten ist.",
    out_noted: "Notiert: {who} ist draußen, nach {span}.",
    not_in: "{who} war nicht als drinnen notiert. Meinst du das Kalb, antworte kalb; für dich selbst drin und draußen.",
};
