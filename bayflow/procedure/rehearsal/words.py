"""
The words of a rehearsal, in the languages that it speaks.

The Spanish ones are NOT YET APPROVED by a named native reader.
"""

WORDS: dict[str, dict[str, str]] = {
    "en": {
        "title": "Rehearsal of {procedures} – {body}",
        "setting": "Begins {start} ({zone}) with {people}. Staffed: {hours}.",
        "basis": "Labour minutes are the sheet's. Readings are taken to be right: {readings}.",
        "basis-plain": "Labour minutes are the sheet's.", "happens": "What happens when", "holds": "Holds",
        "warnings": "Mind", "decides": "What decides the hand-over", "fault": "It can't be finished",
        "findings": "What the audit would find", "machines": "Machines in the hand",
        "can-wait": "With hands free, these can wait: {parts}.",
        "hand-over": "Earliest hand-over: {when}. Labour {labour}, elapsed {elapsed}.",
        "no-hand-over": "No hand-over. Labour up to there: {labour}.",
        "no-release": "The sheet has no release; the last step ends the job.", "one-person": "1 person",
        "people": "{n} people", "and-lead": "{n} people and the lead", "person": "person {n}", "lead": "the lead",
        "reading": "Take readings.", "places": "{n} places", "hold-line": "{hold}: {do}{places}",
        "opens": "opens {when}, {there}", "shuts": "shuts {when}, {there}", "there": "somebody is there",
        "not-there": "nobody is there", "partly": "somebody is there for {n} of {of}", "taken": "used {when}",
        "not-taken": "not used", "rescues": "{hold}: {do}{places}: all taken in time", "link-work": "{part}",
        "link-hold": "hold: {hold}, {span}", "link-closed": "nobody is there, {span}",
        "link-tight": "it no longer fits before closing, {span}", "link-held": "held back for a window ahead, {span}",
        "link-hands": "no hands free, {span}", "flash": "flash time", "dwell": "dwell", "recoat": "recoat window",
        "cure": "cure", "window": "time window",
        "held-back": "“{part}” is not begun on {from}: its {hold} would be open from {opens} to {shuts}, and nobody "
                     "here could use it. It begins on {until}.",
        "held-back-late": "“{group}” is begun on {until}, not on {from}: the {hold} behind it would shut on {shuts},"
                          " before “{later}” could be done.",
        "start-by": "Begin “{part}” by {latest}, or the {hold} for “{step}” shuts on {shuts} with nobody here.",
        "start-by-there": "Begin “{part}” by {latest}, or the {hold} for “{step}” shuts on {shuts} before it can be "
                          "used.",
        "by-table": "The {hold} for “{step}” runs by the product's table of temperatures: {least} by the clock, as "
                    "rehearsed here, up to {coldest} at {at}; colder counts nothing. Only measured time counts.",
        "shuts-alone": "The {hold} for “{step}” shuts on {shuts} with nobody here; the last moment to begin is "
                       "{latest}.",
        "own-check": "One person works here alone, so “{group}” is no check by another person. Let time pass before "
                     "it; the audit will find it and a lead must decide.",
        "own-check-all": "Everybody here did some of the work, so “{group}” is no check by another person. One more "
                         "person would make it one.",
        "lead-looks": "Everybody at work did some of it, so the lead does “{group}”.",
        "coat-in-pieces": "“{part}” does not fit into any day here as a whole: it is done panel by panel, over "
                          "closing.",
        "too-late": "“{group}” came too late: its {hold} ran from {began}, the end of “{since}”, and shut on "
                    "{latest}, {most} later.",
        "way-out": "The sheet's way out: do “{reopen}” again.", "no-way-out": "The sheet names no way out (if_late).",
        "change-late": "To keep it: begin so that people are there in the window, put more hands on the work "
                       "between, or lengthen the window if the label allows it.",
        "never-window": "“{group}” can't be begun at any time in the next five weeks: the {hold} for “{later}” would"
                        " always be open while nobody is here. Staff other hours, or lengthen the window if the "
                        "label allows it.",
        "never-short": "“{later}” takes {span}, but its {hold} is open for {open} after “{group}”. Give it less "
                       "labour, smaller pieces, or a longer window if the label allows it.",
        "never-wet": "“{group}” can't be begun at any time: what it wets could not be finished (“{later}”) before "
                     "closing. Make the pieces smaller, or staff a longer stretch.",
        "never-closing": "“{group}” can't be begun at any time: with what follows it at once, it is longer than any "
                         "staffed stretch. Make the pieces smaller, or staff a longer stretch.",
        "too-long": "“{group}” takes {span} in one go, but the longest staffed stretch is {longest}. Sign it in "
                    "smaller pieces, by panel or by band, or staff a longer stretch.",
        "no-reading": "No reading can satisfy the limits of “{group}”: {because}. Widen one of the limits.",
        "reading-missing": "{name} is not valid long enough",
        "below": "{name} would be {value}, at least {limit} is asked",
        "above": "{name} would be {value}, at most {limit} is allowed",
        "dew": "the surface would be too near the dew point",
        "nobody-decides": "“{group}” waits for the {role}, and nobody is there who may decide.",
        "circle": "These steps wait for one another: {groups}. Take one “after” or “since” away, or sign them apart.",
        "stuck": "“{group}” does not become ready; the gate says “{state}”.",
        "no-end": "In five weeks no moment was found for “{group}”: it does not fit into any staffed stretch beside "
                  "what else must be done or rescued then. Make the pieces smaller, or staff more people or longer "
                  "hours.",
        "doer-checked": "checked by whoever did it", "hold-long": "window missed",
        "hold-short": "hold broken: too short", "release-lead": "lead", "release-owner": "owner", "day": "d",
        "weekdays": "Mon Tue Wed Thu Fri Sat Sun", "months": "Jan Feb Mar Apr May Jun Jul Aug Sep Oct Nov Dec",
        "closed-days": "closed {days}", "always": "day and night", "yes": "yes", "no": "no",
        "past-closing": "“{group}” could not wait: it ends after closing, on {until}.",
    },
    "es": {
        "title": "Ensayo de {procedures} – {body}",
        "setting": "Empieza el {start} ({zone}) con {people}. Horario con personal: {hours}.",
        "basis": "Los minutos de trabajo son los de la hoja. Se supone que las mediciones son buenas: {readings}.",
        "basis-plain": "Los minutos de trabajo son los de la hoja.", "happens": "Qué pasa y cuándo",
        "holds": "Esperas", "warnings": "Atención", "decides": "Qué decide la entrega",
        "fault": "No se puede terminar", "findings": "Qué encontraría la auditoría",
        "machines": "Máquinas en la mano", "can-wait": "Con manos libres, pueden esperar: {parts}.",
        "hand-over": "Entrega más temprana: {when}. Trabajo {labour}, tiempo total {elapsed}.",
        "no-hand-over": "Sin entrega. Trabajo hasta ahí: {labour}.",
        "no-release": "La hoja no tiene liberación; el último paso termina el trabajo.", "one-person": "1 persona",
        "people": "{n} personas", "and-lead": "{n} personas y la persona responsable", "person": "persona {n}",
        "lead": "responsable", "reading": "Tomar mediciones.", "places": "{n} lugares",
        "hold-line": "{hold}: {do}{places}", "opens": "se abre {when}, {there}", "shuts": "se cierra {when}, {there}",
        "there": "hay alguien", "not-there": "no hay nadie", "partly": "hay alguien en {n} de {of}",
        "taken": "usada {when}", "not-taken": "sin usar", "rescues": "{hold}: {do}{places}: todo a tiempo",
        "link-work": "{part}", "link-hold": "espera: {hold}, {span}", "link-closed": "no hay nadie, {span}",
        "link-tight": "ya no cabe antes del cierre, {span}",
        "link-held": "retenido por una ventana posterior, {span}", "link-hands": "sin manos libres, {span}",
        "flash": "tiempo de evaporación", "dwell": "tiempo de actuación", "recoat": "ventana de segunda capa",
        "cure": "curado", "window": "ventana de tiempo",
        "held-back": "«{part}» no empieza el {from}: la espera «{hold}» correría de {opens} a {shuts} y aquí nadie "
                     "podría usarla. Empieza el {until}.",
        "held-back-late": "«{group}» empieza el {until}, no el {from}: la espera «{hold}» posterior se cerraría el "
                          "{shuts}, antes de poder hacer «{later}».",
        "start-by": "Empieza «{part}» antes del {latest}, o la espera «{hold}» de «{step}» se cierra el {shuts} sin "
                    "nadie aquí.",
        "start-by-there": "Empieza «{part}» antes del {latest}, o la espera «{hold}» de «{step}» se cierra el "
                          "{shuts} antes de poder usarla.",
        "by-table": "La espera «{hold}» de «{step}» sigue la tabla de temperaturas del producto: {least} según el "
                    "reloj, como en este ensayo, y hasta {coldest} a {at}; con más frío no cuenta nada. Solo cuenta "
                    "el tiempo medido.",
        "shuts-alone": "La espera «{hold}» de «{step}» se cierra el {shuts} sin nadie aquí; el último momento para "
                       "empezar es {latest}.",
        "own-check": "Aquí trabaja una sola persona, así que «{group}» no es una revisión de otra persona. Deja "
                     "pasar tiempo antes; la auditoría lo encontrará y debe decidir la persona responsable.",
        "own-check-all": "Todos hicieron parte del trabajo, así que «{group}» no es una revisión de otra persona. "
                         "Hace falta una persona más.",
        "lead-looks": "Todos hicieron parte del trabajo, así que «{group}» lo hace la persona responsable.",
        "coat-in-pieces": "«{part}» no cabe entera en ningún día: se hace panel por panel, con un cierre por medio.",
        "too-late": "«{group}» llegó tarde: la espera «{hold}» corría desde el {began}, el final de «{since}», y se "
                    "cerró el {latest}, {most} después.",
        "way-out": "Salida que da la hoja: repetir «{reopen}».", "no-way-out": "La hoja no da salida (if_late).",
        "change-late": "Para cumplirla: empezar de modo que haya alguien en la ventana, poner más manos en el "
                       "trabajo intermedio o alargar la ventana si la etiqueta lo permite.",
        "never-window": "«{group}» no puede empezar en ningún momento de las próximas cinco semanas: la espera "
                        "«{hold}» de «{later}» siempre caería sin nadie aquí. Cambia el horario, o alarga la ventana"
                        " si la etiqueta lo permite.",
        "never-short": "«{later}» dura {span}, pero la espera «{hold}» solo está abierta {open} después de "
                       "«{group}». Menos trabajo, piezas más pequeñas o una ventana más larga si la etiqueta lo "
                       "permite.",
        "never-wet": "«{group}» no puede empezar en ningún momento: lo que moja no se podría terminar («{later}») "
                     "antes del cierre. Piezas más pequeñas, o un turno más largo.",
        "never-closing": "«{group}» no puede empezar en ningún momento: con lo que le sigue de inmediato es más "
                         "largo que cualquier turno. Piezas más pequeñas, o un turno más largo.",
        "too-long": "«{group}» dura {span} de una vez, pero el turno más largo es de {longest}. Fírmalo en piezas "
                    "más pequeñas, por panel o por banda, o alarga el turno.",
        "no-reading": "Ninguna medición cumple los límites de «{group}»: {because}. Amplía uno de los límites.",
        "reading-missing": "{name} no vale el tiempo suficiente",
        "below": "{name} sería {value}, se pide al menos {limit}",
        "above": "{name} sería {value}, se permite como mucho {limit}",
        "dew": "la superficie estaría cerca del rocío",
        "nobody-decides": "«{group}» espera a: {role}, y no hay nadie que pueda decidir.",
        "circle": "Estos pasos se esperan unos a otros: {groups}. Quita un «after» o «since», o fírmalos por "
                  "separado.",
        "stuck": "«{group}» no llega a estar listo; la puerta dice «{state}».",
        "no-end": "En cinco semanas no hubo ningún momento para «{group}»: no cabe en ningún turno junto a lo demás "
                  "que hay que hacer o salvar. Piezas más pequeñas, más personas o un turno más largo.",
        "doer-checked": "revisado por quien lo hizo", "hold-long": "ventana perdida",
        "hold-short": "espera demasiado corta", "release-lead": "responsable", "release-owner": "propietario",
        "day": "d", "weekdays": "lun mar mié jue vie sáb dom",
        "months": "ene feb mar abr may jun jul ago sep oct nov dic", "closed-days": "cerrado {days}",
        "always": "día y noche", "yes": "sí", "no": "no",
        "past-closing": "«{group}» no podía esperar: termina después del cierre, el {until}.",
    },
}  # fmt: skip
