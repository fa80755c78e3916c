//! Spanish. Trade words are the translator's own, from memory: no glossary was at hand.

use super::Phrases;

pub(super) const PHRASES: Phrases = Phrases {
    and: "y",
    day_unit: "d",
    one_day: "1 día",
    days: "{n} días",
    more: "{n} más",
    and_more: "y {n} más",
    somebody: "Alguien",
    nobody: "nadie",
    with_animal: " con {animal}",
    on_animal: " en {animal}",
    until: " hasta {at}",

    mind: "¡Ojo con ella! ",
    no_dam: "sin animal",
    herd: "Rebaño",
    rota: "Turnos",
    drill: "DRILL/SIMULACRO",
    drill_short: "conteste como en un parto; no hace falta ir",
    unwatched_none: "ninguna sin vigilar",
    unwatched_one: "1 madre sin vigilar",
    unwatched: "{n} madres sin vigilar",
    one_dam: "1 madre",
    dams: "{n} madres",
    calf_no: "cría {n}",
    n_in: "{n} en {span}",
    n_of: "{n} de {of}",
    never_heard: "nunca oído",
    day: "día {n}",
    day_range: "día {from} a {until}",
    by_days: "por {days}",
    by_days_least: "por {days} al menos",
    no_word_of_one: "{who} sin confirmar: ",
    no_word_of: "{n} sin confirmar: ",
    no_backup: "sin suplente ",
    ill_nonsense: "sin sentido",
    ill_jumps: "da saltos",
    ill_flat: "no varía",
    ill_off: "suelto",
    ill_clock: "reloj mal",
    ill_not_understood: "no se entiende",
    ill_battery_low: "pila baja",
    ill_battery_failing: "pila agotándose",
    ill_offline: "desconectado",
    ill_restarts: "se reinicia",

    go_and_look: "Vaya a ver.",
    late_mail: "Con {span} de retraso: estábamos parados.",
    late_text: " {span} tarde, estábamos parados",
    look_for: "Mire: {look}",
    act: "Si es así: {act}",
    unsure: "¿Duda? Llame a {who}.",
    asked_of_vet: "Para usted, como veterinario: {act}",
    look_of_vet: "Ellos miran: {look}",
    unsure_of_vet: "¿No está claro? Llame a {who}.",
    any_owner: "su veterinario",
    any_helper: "quien esté al cargo",
    any_vet: "la granja",
    helper_of_dam: "Mire desde fuera, no meta la mano. Llame a {call}.",
    helper_of_gear: "Toque solo lo que le enseñaron; si no, llame a {call}.",
    vet_of_dam: "Quizá le llamen. Nadie ha dicho más todavía.",
    vet_of_gear: "No se le pide nada.",
    look_at_dam: "cómo está y si come, y qué asoma por detrás",
    look_at_gear: "lo que se nombra arriba",
    unsure_short: " ¿Duda? {who}.",
    others_told: "A los demás se les dice: {act}",
    with_her: "{who} está con ella o de camino.",
    how_to_answer: "
Conteste con una o dos palabras:
  voy         va usted; los demás saben que lo tiene
  paso        no puede; se llama enseguida al siguiente
  manos 0210  lo que ve, con su hora si no es ahora
              (bolsa, manos, morro, ternero, de pie, ha mamado, parias, vista)
",
    end_of_text: " Conteste voy o paso.",
    not_alone: " No a solas.",
    always: "
Este programa no sustituye a su veterinario ni a sus propios ojos. Siga las normas del lugar.
",
    full: "
Antes de entrar
  Nunca a solas si se puede evitar; diga dónde está.
  Sepa primero por dónde salir. Una recién parida puede embestir a cualquiera.
  Guantes, y lávese después. Las embarazadas, lejos de los partos y de las parias.
  Nunca un vehículo para tirar; dos personas como mucho, y solo mientras empuja.
Este programa no sustituye a su veterinario ni a sus propios ojos. Siga las normas del lugar.
",
    aborted: "
Un aborto
  Guantes, gafas y mascarilla: los líquidos pueden contagiar a las personas. Lávese después.
  Las embarazadas, lejos: de la madre, de la cama y de la ropa sucia. También quien tenga mal una válvula del corazón.
  Llame al veterinario antes de retirar nada. Guarde la cría y las parias para él, fuera del alcance de los perros.
  Apártela de las demás, y vigile a las demás.
  En muchos lugares hay que declarar un aborto: pregunte al veterinario por la brucelosis y las normas del lugar.
  Fiebre o gripe en las semanas siguientes: al médico, y diga qué ha tocado.
",
    second_stage: "Expulsión {total}, nada nuevo en {new}",
    nothing_new: "Nada nuevo en {new}",
    stay: "No la mueva.",
    pen_her: "Si la encierra, hágalo ya.",
    says_move: "la mueva",
    taken: "Lo tiene {who}. No hace falta que vaya si {who} no lo pide.",
    over: "Este aviso ha terminado: {because}.",

    clock_began: "El reloj empezó a las {at} y su límite es {limit}.",
    clock_of_calf: "El reloj de la cría {n} empezó a las {at} y su límite es {limit}.",
    why_since: "{why}. Desde {at}.",
    last_heard: "Oído por última vez: {at}.",
    listened: "Se escucha desde {at}.",
    ill_since: "Desde {at} el sensor está mal ({ill}): {why}.",
    ill_blind: "Lo que dice no es señal de ella: hasta que se arregle, mírela usted.",
    trouble: "Desde {at}: {why}.",
    gateway: "Nada ha llegado por ahí desde {at}. Nada más vigila a: {animals}.",
    alone: "Entró{her} a las {since}, debía salir a las {until} y no ha contestado.
Quien le vea contesta \"{who} fuera\".",
    unwatched_mail: "Ningún aparato ni última mirada cubre a: {animals}.
Conteste lo que ve de cada una, como \"{one} vista\".",
    uncovered_nobody: "Nadie está de turno",
    uncovered_nobody_of: "Nadie hace el turno {rota}",
    uncovered_backup: "Nadie más suple a quien está de turno",
    uncovered_backup_of: "Nadie más suple el turno {rota}",
    uncovered_unproven: "{what}, {hours}.
Nada muestra aún que un aviso llegue a {who}: haga que conteste a lo que se le preguntó, o apunte a otra persona. Se le llama de todos modos.",
    uncovered_find: "{what}, {hours}.
Busque a alguien y apúntelo en los turnos; quien estaba enfermo contesta \"well\" cuando pueda volver.",
    drill_mail: "Esto es un simulacro: no ha empezado nada. Va por la misma escala y las mismas líneas que un parto, y termina con el primero que conteste \"voy\", o a las {at}.",
    ahead: "Puede ser {when}: con esa antelación avisa un sensor así.",
    ahead_short: " Puede ser {when}.",
    ahead_now: "ahora",
    ahead_hours: "en unas horas",
    ahead_day: "en un día",
    alert_line: "Aviso {no}, código {code}, prioridad {priority}. Regla: {rule}.",
    source: "Fuente: {source}.",
    priority_low: "baja",
    priority_medium: "media",
    priority_high: "alta",
    dam_line: "Madre {animal}, {kind}, {place}.",
    place_unknown: "lugar sin anotar",
    cow: "vaca",
    heifer: "novilla",
    temper: "Su genio es {n} de 6. Sepa por dónde salir antes de entrar; no a solas, nunca entre ella y la cría.",
    noted_of_her: "Anotado de ella: {notes}.",
    noted_short: "anotado: {notes}",
    mind_short: "ojo con ella",

    counted: "{sign}: {n} en {span}, límite {limit}",
    over_edge: "{sign} {amount}, más de {edge}",
    under_edge: "{sign} {amount}, menos de {edge}",
    held: " durante {span}",
    changed_hour: "{sign} {amount}, era {before} a esta hora en los {span} anteriores",
    changed_over: "{sign} {amount}, era {before} en los {span} anteriores",
    seen: "{sign} visto en {n} de {of} imágenes",
    not_so: "no es así: {what}",
    due_past: "{days} tras el último día de su fecha",
    due_early: "{days} antes de su fecha",
    due_lost_seen: "aborto, según alguien ha visto",
    due_lost: "{days} antes de poder estar a término",
    denies_one: "{who} no lo dice",
    denies: "{who} no lo dicen",
    unheard_one: "{who} no se oye",
    unheard: "{who} no se oyen",

    one_matter: "1 asunto",
    matters: "{n} asuntos",
    while_up: "Ya que está en pie, {matters}",
    more_of: " y {n} más",
    passed_unseen: "Pasó solo antes de que nadie contestara:",
    also: "También: {named}.",
    and_n_more: "Y {n} más.",
    end_of_several: " Conteste voy, o un código.",
    how_to_answer_several: "
Conteste voy: todo esto es suyo. O nombre uno por su código: voy, paso, o lo que ve.
",

    yours: "Tiene el aviso {no} hasta las {until}. Conteste lo que ve.",
    also_coming: "{who} tiene el aviso {no}. Queda anotado que usted también va.",
    not_open: "El aviso {no} no está abierto.",
    passed: "Anotado: pasa el aviso {no}. Se llama al siguiente.",
    passed_later: "Anotado: pasa el aviso {no}. Al siguiente se le dice a las {at}.",
    none_open: "No hay ningún aviso abierto.",
    open: "Abiertos:",
    has_it: " (lo tiene {who})",
    has_it_text: ", lo tiene {who}.",
    not_understood: "No le hemos entendido. Conteste voy, paso, o lo que ve, como \"114 manos 0210\" (bolsa, manos, morro, ternero, de pie, ha mamado, parias, vista, falsa).",
    which_one: "¿Qué aviso quiere decir? Conteste con su código.",
    is_over: "El aviso {no} ({code}) ha terminado: {because}.",
    waits: "El aviso {no} espera hasta las {until}.",
    goes_round: "Luego vuelve a llamar.",
    not_so_long: "El aviso {no} no puede esperar tanto: como mucho {most}. No se aplaza; se llama a otros.",
    has_already: "{who} ya tiene el aviso {no}.",
    noted_marks: "Anotado: {n} marcas.",

    on_duty: "Está de turno{until}.",
    nothing_open: "Nada abierto.",
    begun: "Han empezado: {dams}.",
    in_windows: "En su fecha: {dams}.",
    sensors_odd: "Sensores por mirar: {n}.",
    alone_behind: "Nadie le suple.",
    behind: "Le suple: {who}.",

    welcome: "Guardia nocturna de {farm}, para {who}. {calls} {asks}",
    welcome_vet: "Quizá le llame aquí cuando una madre necesite veterinario.",
    welcome_people: "Le llama aquí cuando una madre necesita a alguien.",
    ask_ready: "Conteste LISTO, y sabremos que le llega.",
    ask_again: "Nada suyo ha vuelto desde {date}: conteste LISTO.",
    thanks: "Gracias, {who}: los avisos le llegan aquí.",
    not_this_way: "Gracias, {who}, pero ningún aviso va por aquí: conteste a lo que le preguntó.",

    are_you_out: "¿Ha salido? Entró{her} a las {since}. Conteste fuera, o dentro otra vez.",
    in_now: "Está dentro{her} desde ahora. Conteste fuera antes de las {until}, {else_what}.",
    else_sent: "o se manda a los demás a mirar",
    else_none: "ninguna regla le busca",
    help_called: "Se llama a los demás ahora. Si está herido, llame también al 112. Conteste fuera cuando esté a salvo.",
    help_none: "Ninguna regla llama a nadie por usted: llame al 112 o a quien esté más cerca.",
    out_noted: "Anotado: {who} ha salido, tras {span}.",
    not_in: "{who} no constaba dentro. Si se refiere al ternero, conteste ternero; de usted, dentro y fuera.",
};
