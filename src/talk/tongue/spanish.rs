//! The words of Spanish, with those of its cattle yards on both sides of the sea (the trade's words: common practice, no
//! source).

use super::super::words::Going::{Ok as Okay, Plain, Yes};
use super::super::words::Phrase::{
    Bull, Calf, CalfOf, Dam, Dead, Down, Filler, Is, Looked, Noted, Nothing, She, Up, Which,
};
use super::super::words::Words;
use super::{hands, herds, insides, rotas};
use crate::herd::sign::Mark;

pub(super) const SPANISH: Words = Words {
    going: &[
        (
            Plain,
            "voy, yo voy, ya voy, voy ya, ahora voy, voy ahora, ahi voy, alla voy, voy alla, voy para alla, voy pa alla, voy \
            palla, ya voy para alla, voy yendo, voy en camino, voy de camino, en camino, de camino, estoy en camino, estoy de \
            camino, ya estoy en camino, salgo, salgo ya, ya salgo, salgo ahora, salgo para alla, voy saliendo, saliendo, me \
            encargo, yo me encargo, me ocupo, yo me ocupo, lo hago yo, lo miro, lo miro yo, voy a mirar, voy a ver, voy a \
            verla, voy a echar un vistazo, voy a mirarla, ya llego, estoy llegando, llego ya, going",
        ),
        (Okay, "ok, okay, okey, oki, vale, dale, de acuerdo, entendido, recibido, listo, k, 👍"),
        (Yes, "si, sip, claro, yes"),
    ],
    going_filler: "ahora, ya, mismo, gracias, perdon, enseguida, corriendo, pues",
    going_where: "alla, ahi, fuera, yo, rapido, volando, directo",
    toward: "a, a la, a por, a por la, con, con la, para, a ver a, a ver a la, a la vaca, a la novilla",
    pass: &[
        (
            false,
            "no puedo, yo no puedo, no puedo ir, yo no puedo ir, no puedo llegar, ahora no puedo, no puedo ahora, ahorita no \
            puedo, no voy, yo no voy, no llego, no llego a tiempo, yo no, yo paso, paso, me es imposible, imposible, no me es \
            posible, no voy a poder, no voy a poder ir, no alcanzo, pass",
        ),
        (true, "no, nop, nones"),
    ],
    pass_filler: "lo, siento, perdon, ahora, esta, noche, hoy, gracias, ya",
    marks: &[
        (
            Is(Mark::WaterBag),
            "bolsa, bolsa de agua, bolsa de aguas, bolsa rota, aguas, rompio aguas, rompio bolsa, rompio la bolsa, ha roto \
            aguas, roto aguas, rompio fuente, rompio la fuente, fuente rota, bolsa fuera, se rompio la bolsa, se le rompio la \
            bolsa",
        ),
        (
            Is(Mark::Feet),
            "patas, patitas, pies, pezunas, manos, dos patas, 2 patas, dos manos, 2 manos, patas fuera, patas afuera, manos \
            fuera, manos afuera, patas delanteras, las dos patas, las dos manos, pezunas fuera, dos pezunas",
        ),
        (Is(Mark::Nose), "morro, hocico, nariz, morro fuera, hocico fuera, morrito"),
        (
            Is(Mark::Progress),
            "avanza, progresa, progreso, va avanzando, avanzando, va bien, sigue avanzando",
        ),
        (Calf, "ternero, becerro, cria, ternero vivo, becerro vivo, cria viva"),
        (CalfOf("bull"), "ternero macho, becerro macho, cria macho"),
        (
            CalfOf("heifer"),
            "ternera, becerra, cria hembra, ternero hembra, ternera hembra, becerra hembra",
        ),
        (Bull, "toro, torito, macho"),
        (Noted(Mark::Sex, "bull"), "es macho, es un macho, un macho"),
        (Noted(Mark::Sex, "heifer"), "es hembra, es una hembra, una hembra"),
        (
            Noted(Mark::Vigour, "weak"),
            "ternero debil, becerro debil, cria debil, ternero flojo, becerro flojo, ternera debil, cria floja",
        ),
        (
            Noted(Mark::Vigour, "strong"),
            "ternero fuerte, becerro fuerte, cria fuerte, ternero vigoroso, ternera fuerte, ternero vivaracho",
        ),
        (
            Noted(Mark::Vigour, "shivering"),
            "ternero tiembla, ternero temblando, becerro temblando, cria temblando",
        ),
        (Noted(Mark::Vigour, "cold mouth"), "boca fria, la boca fria, tiene la boca fria"),
        (Noted(Mark::Calf, "single"), "uno solo, solo un ternero, un solo ternero, solo uno"),
        (
            Which(0),
            "ambos, los dos, las dos, los dos terneros, ambos terneros, los gemelos, los mellizos",
        ),
        (Which(1), "primer ternero, ternero 1, ternero uno, primer becerro, primera cria"),
        (
            Which(2),
            "segundo ternero, ternero 2, ternero dos, segundo becerro, segunda cria, cria 2, cria dos",
        ),
        (Which(3), "tercer ternero, ternero 3, ternero tres, tercer becerro"),
        (Which(4), "cuarto ternero, ternero 4, ternero cuatro, cuarto becerro"),
        (
            Is(Mark::Calf),
            "pario, ha parido, parida, ya pario, ya ha parido, nacio, ha nacido, nacido, ya nacio, ternero nacido, ternero \
            fuera, ternero afuera, becerro nacido, becerro fuera, nacio el ternero, ternero en el suelo, cria fuera, primer \
            ternero nacido, primer ternero fuera",
        ),
        (
            Is(Mark::SecondCalf),
            "segundo ternero nacido, segundo ternero fuera, segundo becerro nacido, gemelo, mellizo, segundo nacido, nacio el \
            segundo, segunda cria fuera",
        ),
        (
            Is(Mark::AllBorn),
            "todos nacidos, todos fuera, ya nacieron todos, nacieron todos, acabo de parir",
        ),
        (Up, "de pie, en pie, se levanto, levantado, se ha levantado, parado"),
        (
            Is(Mark::Up),
            "ternero de pie, ternero en pie, ternero levantado, becerro de pie, becerro parado, ternero parado, cria de pie, \
            cria parada, ternera de pie, ternera en pie, se levanto el ternero",
        ),
        (
            Is(Mark::Sucked),
            "mamo, ya mamo, ha mamado, mamado, mamando, mama, esta mamando, ternero mamando, ternero mamo, ternero ha mamado, \
            becerro mamo, ya ha mamado",
        ),
        (
            Is(Mark::Colostrum),
            "calostro, calostros, calostro dado, tomo calostro, ha tomado calostro, le di calostro, dado calostro, calostro \
            tomado",
        ),
        (
            Is(Mark::Placenta),
            "placenta, placenta fuera, parias, parias fuera, parias expulsadas, las parias fuera, libro, ha librado, echo la \
            placenta, echo las parias, tiro la placenta, solto las parias, solto la placenta, expulso la placenta, placenta \
            expulsada, ya libro, secundinas, secundinas fuera, limpio",
        ),
        (
            Is(Mark::Temperature),
            "temperatura, temp, fiebre, temperatura de la vaca, su temperatura, tiene fiebre, temp de la vaca",
        ),
        (Is(Mark::Treated), "tratada, tratado, inyectada, pinchada, medicada, le puse, le inyecte"),
        (
            Is(Mark::Helped),
            "ayuda, ayudada, ayude, sin ayuda, tiron facil, tiron suave, tiron fuerte, tiron duro, cesarea, con ayuda, \
            asistida",
        ),
        (
            Is(Mark::Vet),
            "veterinario, vet, veterinaria, llame al veterinario, llame al vet, llamado el veterinario, veterinario llamado, \
            veterinario en camino, viene el veterinario, el veterinario viene, veterinario aqui, he llamado al veterinario, \
            he llamado al vet, veterinario avisado",
        ),
        (Dead, "muerto, muerta, murio, ha muerto"),
        (
            Is(Mark::CalfDead),
            "perdio el ternero, se perdio el ternero, murio el ternero, murio el becerro, perdido el ternero",
        ),
        (
            Noted(Mark::CalfDead, "born dead"),
            "nacido muerto, nacio muerto, ternero nacido muerto, becerro nacido muerto, mortinato, nacida muerta",
        ),
        (
            Is(Mark::TailRaised),
            "cola, cola levantada, cola alzada, cola arriba, levanta la cola, rabo levantado",
        ),
        (Is(Mark::Restless), "inquieta, nerviosa, esta inquieta, muy inquieta, intranquila"),
        (
            Is(Mark::BaggedUp),
            "ubre llena, ubre hinchada, ubre cargada, ubre tensa, ubre a reventar",
        ),
        (
            Is(Mark::Slack),
            "ligamentos flojos, ligamentos sueltos, ligamentos hundidos, ligamentos caidos",
        ),
        (
            Is(Mark::Straining),
            "empujando, empuja, haciendo fuerza, hace fuerza, pujando, puja, con contracciones, esta empujando",
        ),
        (
            Is(Mark::Backward),
            "de culo, viene de culo, patas traseras, de nalgas, viene de nalgas, al reves, viene al reves, posterior, viene \
            atravesado",
        ),
        (
            Is(Mark::OneFoot),
            "una pata, una mano, una pezuna, 1 pata, 1 mano, solo una pata, una sola pata, una pata sola, solo una mano, una \
            sola mano",
        ),
        (
            Noted(Mark::OneFoot, "leg back"),
            "pata atras, una pata atras, mano atras, una mano atras, pata doblada, mano doblada",
        ),
        (
            Noted(Mark::OneFoot, "head back"),
            "cabeza atras, cabeza vuelta, cabeza doblada, cabeza torcida, cabeza girada",
        ),
        (Noted(Mark::OneFoot, "head and no feet"), "solo la cabeza, solo cabeza, solo el morro"),
        (Is(Mark::TailOnly), "solo la cola, solo cola, solo el rabo"),
        (
            Is(Mark::Stained),
            "liquido amarillo, agua amarilla, aguas amarillas, amarillo, meconio, manchado de meconio",
        ),
        (
            Is(Mark::Bleeding),
            "sangra, sangrando, sangre, sangra mucho, sangrado, hemorragia, esta sangrando",
        ),
        (
            Is(Mark::Tongue),
            "lengua hinchada, lengua morada, lengua azul, la lengua hinchada, la lengua morada, la lengua azul",
        ),
        (Is(Mark::Aborted), "aborto, ha abortado, abortado, malpario, malparto"),
        (
            Is(Mark::Breathing),
            "respira, respirando, ternero respira, ternero respirando, respira bien, esta respirando",
        ),
        (
            Is(Mark::Sternal),
            "echado sobre el pecho, sobre el pecho, ternero sobre el pecho, esternal, sentado, ternero sentado",
        ),
        (
            Is(Mark::Trying),
            "intenta levantarse, ternero intenta levantarse, intentando levantarse, quiere levantarse, se intenta levantar, \
            tratando de levantarse",
        ),
        (
            Is(Mark::Navel),
            "ombligo, ombligo curado, ombligo desinfectado, yodo, ombligo con yodo, yodo en el ombligo, ombligo hecho",
        ),
        (
            Is(Mark::CalfTemperature),
            "temperatura del ternero, temp del ternero, temp ternero, temp cria, temperatura de la cria, ternero temp, temperatura ternero",
        ),
        (Is(Mark::Weight), "peso, pesa, ternero pesa, peso al nacer, pesado"),
        (Is(Mark::Sex), "sexo"),
        (Is(Mark::Vigour), "vigor"),
        (Is(Mark::Fostered), "ahijado, ternero ahijado, adoptado, ternero adoptado"),
        (
            Is(Mark::Tagged),
            "crotal, crotalado, arete, aretado, caravana, marcado, crotal numero, crotal puesto",
        ),
        (
            Is(Mark::Discharge),
            "flujo maloliente, flujo apestoso, flujo fetido, descarga maloliente, huele mal por detras, flujo con mal olor, \
            secrecion maloliente",
        ),
        (
            Is(Mark::Down),
            "vaca caida, vaca tumbada, vaca echada, no se levanta, no puede levantarse, vaca no se levanta, no se puede \
            levantar, no se para, vaca en el suelo",
        ),
        (Down, "caida, tumbada, echada, tirada, sigue caida, sigue tumbada"),
        (
            Is(Mark::Risen),
            "vaca de pie, vaca en pie, madre de pie, madre en pie, vaca levantada, vaca parada, se levanto la vaca, la vaca se levanto, vaca otra vez de pie",
        ),
        (
            Is(Mark::OffFeed),
            "no come, sin apetito, no quiere comer, ha dejado de comer, dejo de comer, no come nada, come mal",
        ),
        (
            Is(Mark::Eating),
            "come, comiendo, come otra vez, ya come, vuelve a comer, come bien, esta comiendo",
        ),
        (
            Is(Mark::Wobbly),
            "tambalea, se tambalea, tambaleando, orejas frias, fiebre de la leche, inestable, temblorosa, fiebre de leche, \
            hipocalcemia",
        ),
        (
            Is(Mark::Prolapse),
            "prolapso, prolapsada, matriz fuera, utero fuera, la matriz fuera, matriz afuera, se le salio la matriz, prolapso \
            de utero",
        ),
        (
            Is(Mark::HasMilk),
            "tiene leche, leche de sobra, mucha leche, le sobra leche, tiene mucha leche",
        ),
        (Is(Mark::NeedsMother), "necesita madre, huerfano, huerfana, sin madre"),
        (
            Is(Mark::DamDead),
            "vaca muerta, murio la vaca, la vaca murio, perdi la vaca, vaca sacrificada, se murio la vaca, vaca perdida",
        ),
        (Is(Mark::Collected), "recogido, retirado, cadaver retirado, cadaver recogido, recogida"),
        (Is(Mark::Registered), "registrado, registrada, dado de alta, ternero registrado"),
        (
            Looked,
            "vista, visto, mirada, mirado, la mire, la vi, revisada, la revise, la he visto, la he mirado, comprobado, \
            echado un vistazo, ya la vi",
        ),
        (
            Nothing,
            "nada, nada aun, nada todavia, todavia nada, aun nada, nada por ahora, nada de momento, de momento nada, por ahora \
            nada, sin novedad, sin novedades, todo tranquilo, nada que ver, sigue sin nada",
        ),
        (Is(Mark::FalseAlarm), "falsa, falsa alarma, falso, alarma falsa"),
        (Dam, "vaca, novilla, vaquilla, vaquillona, madre"),
        (She, "ella"),
        (
            Filler,
            "ha, tiene, esta, es, la, el, los, las, un, una, a, le, se, ve, ven, se ve, se ven, ya se ve, veo, ahora, ya, recien, \
            ahora mismo, fuera, afuera, visible, ahi, numero, animal, gracias, he, yo, tambien, hace",
        ),
    ],
    calf_filler: "ha, un, una, el, la, ya, ahora, a",
    finished_filler: "ha, tiene, esta, es, la, el, los, las, un, una, a, le, ahora, ya, recien, ahora mismo, numero, animal, gracias, he, yo, \
        tambien",
    done_filler: "he, le",
    out: "fuera, afuera",
    half_day: "am, pm",
    colostrum_words: "de, con, por, propio, dado, dada, le, di, he, congelado, su",
    of_a_label: "supresion, retiro, carne, leche",
    whose: "no se levanta, no puede levantarse, no se puede levantar, no se para, tambalea, se tambalea, tambaleando, orejas \
        frias, inestable, temblorosa, no quiere comer",
    litres: "l, litro, litros, lts",
    millilitres: "ml, cc",
    quarts: "",
    milk: "calostro, calostros, sonda, biberon, mamila",
    by_tube: "sonda, sondado",
    by_bottle: "biberon, mamila, tetina, botella",
    powder: "polvo",
    kilos: "kg, kgs, kilo, kilos",
    pounds: "lb, lbs, libra, libras",
    by_tape: "cinta, con cinta",
    by_eye: "estimado, a ojo",
    by_scales: "bascula, balanza, en bascula",
    to_mother: "a, con, a la, con la, a la vaca, con la vaca",
    before_animal: "de, por, para, con, en",
    before_time: "a, las, sobre, hacia, desde",
    alert: "alerta, aviso, alarma, alert",
    code: "codigo",
    within: "en, en unos, dentro de, dentro de unos, unos, en menos de",
    minutes: "m, min, mins, minuto, minutos",
    hours: "h, hs, hora, horas",
    lengths: &[
        (30, "media hora, una media hora, treinta"),
        (60, "una hora, sesenta"),
        (5, "cinco"),
        (10, "diez"),
        (15, "quince, un cuarto"),
        (20, "veinte"),
        (40, "cuarenta"),
    ],
    and: "y, e, &, +, /",
    but: "pero, luego",
    opening: "buenos dias, buenas noches, buenas tardes, buenas",
    greeting: "hola, buenas, gracias, muchas gracias, mil gracias, saludos, un saludo, perdon, disculpa, oye, jefe, chicos, lo \
        siento, lowbell, hola lowbell",
    to_somebody: "hola, gracias, perdon, disculpa, oye, saludos",
    negation: "no, ni, nunca, ningun, ninguna, ninguno, nada, sin, tampoco, apenas, falta, faltan, jamas, cero, 0, not, 👎, ❌, \
        ✖, ✗, ✘, 🚫, ⛔, 🙅",
    question: "que, quien, cuando, donde, cual, cuales, como, por que, porque, cuanto, puede, puedes, podria, alguien, alguno, \
        debo, deberia, tengo que",
    doubt: "quizas, quiza, tal vez, talvez, puede que, a lo mejor, probablemente, posiblemente, creo, pienso, supongo, espero, \
        ojala, parece, parecen, seguro, si acaso, hasta, antes, cuando, casi, pronto, deberia, esperando, espera, intento, \
        queria, capaz, 🤷, 🤔, ❓, ❔",
    put_off: "mas tarde, luego, despues, recuerdame, avisame luego, avisame mas tarde, llamame luego, llamame mas tarde, \
        aplaza, aplazar, later, hold",
    later: "mas tarde, tarde, luego, despues, manana, pasado, madrugada, ordeno, desayuno, rato, un rato, primero, lunes, \
        martes, miercoles, jueves, viernes, sabado, domingo, cama, dormir, durmiendo, ocupado, ocupada, salvo, excepto, 😴, \
        💤, 🛌, 🛏",
    others: "pregunta, di, dile, llama, avisa, manda, alguien, otro, otra, tu, te, vosotros, ustedes, usted, el, ella, ellos",
    ours: "responde, responda, reply, replying",
    taken_back: "equivocado, equivocada, me equivoque, error, olvidalo, ignora, broma, era broma, cancela, anula, numero \
        equivocado, prueba, probando, test",
    put: "puse, pongo, puesto, coloque, colocado, put",
    on: "en, a, a la, en la, esta en, on",
    take: "quite, quito, quitado, saque, take",
    off: "fuera, se cayo, se ha caido, quitado, off",
    swap: "cambio, cambia, cambie, cambiado, swap",
    swap_with: "con, por, y, &, +",
    battery: "bateria, pila, pilas, bateria nueva, pila nueva, pilas nuevas",
    battery_filler: "en, de, para, cambiada, cambiado, nueva, nuevas, tiene, puse, esta",
    please: "por favor, ahora, ok, gracias, porfa",
    before_device: "el, la, los, sensor, collar, el sensor, el collar",
    off_whom: "de, vaca, novilla, de la",
    inside: insides::SPANISH,
    rota: rotas::SPANISH,
    hand: hands::SPANISH,
    vet_card: "ficha veterinario, ficha para el veterinario, ficha del veterinario, ficha vet, ficha, vet card",
    from: "de, de la, de la vaca",
    calf: "ternero, becerro, cria, ternera, becerra",
    sexes: ["macho, toro, m", "hembra, ternera, becerra, h, f"],
    beasts: Some(herds::SPANISH),
    eased: ["sin ayuda", "tiron facil, tiron suave", "tiron fuerte, tiron duro", "cesarea"],
};
