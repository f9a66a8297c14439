// Español. Not yet approved by a named native reader of the trade.

export default {
  "yes": "Sí", "no": "No", "back": "Atrás", "cars": "Coches", "more": "Más",
  "days": "{d} d {h} h",

  "sync.all": "todo en el taller", "sync.unsent": { one: "{n} sin enviar, desde {time}", other: "{n} sin enviar, desde {time}" },
  "sync.photos": { one: "{n} foto sin enviar", other: "{n} fotos sin enviar" },
  "sync.heard": "taller oído a las {time}", "sync.never": "aún sin noticias del taller",
  "sync.away": "El taller no contesta. Sigue trabajando: todo queda en este teléfono.",
  "sync.unpaired": "El taller ya no conoce este teléfono. Todo queda guardado aquí. Vincúlalo otra vez en la pantalla de la oficina.",
  "sync.ill": "El ordenador del taller contesta con un fallo. Sigue trabajando: todo queda guardado en este teléfono.",
  "sync.refusing": "El ordenador del taller no aceptó lo que envió este teléfono: {why}",
  "sync.refused": { one: "El taller no aceptó {n} anotación", other: "El taller no aceptó {n} anotaciones" },
  "unsent.title": "Qué está dónde", "unsent.none": "Todo lo anotado en este teléfono está en el ordenador del taller.",
  "unsent.list": "Solo en este teléfono", "unsent.photos": "Fotos solo en este teléfono", "unsent.refused": "No aceptado por el taller",
  "unsent.refused.do": "Enséñaselo al dueño. Aquí no se borra nada.",
  "unsent.now": "Probar ahora", "unsent.export": "Guardar como archivo", "unsent.export.why": "Un archivo para el dueño, si este teléfono no llega al taller.",
  "unsent.file": "bayflow-sin-enviar", "phone.this": "Este teléfono: {name}",

  "update": "Hay una versión nueva de esta aplicación.", "update.do": "Cargarla ahora",
  "trouble": "No se pudo escribir en el teléfono: {why}. No está anotado. Libera espacio o toma otro teléfono.",
  "storage": "Este navegador no puede guardar datos. Abre la aplicación en su propia ventana, no en una privada.",

  "pair.title": "Vincular este teléfono", "pair.how": "En el ordenador del taller, abre Teléfonos y muestra el código. Apunta con la cámara de este teléfono o escribe aquí el código.",
  "pair.code": "Código", "pair.name": "¿Cómo llamas a este teléfono?", "pair.name.hint": "Por ejemplo: puesto 2, funda azul", "pair.do": "Vincular este teléfono",
  "pair.fault.code": "El taller no conoce este código o ya se usó. Pide uno nuevo en la pantalla de la oficina.",
  "pair.fault.reach": "El ordenador del taller no contesta. ¿Está este teléfono en el Wi-Fi del taller?",
  "pair.fault.other": "El ordenador del taller dijo: {why}", "pair.fault.empty": "Escribe el código y un nombre.",

  "names.title": "¿Quién trabaja?", "names.none": "Todavía no hay nadie. Añade personas en el ordenador del taller.",

  "role.technician": "técnico", "role.lead": "encargado", "role.owner": "dueño",

  "cars.title": "Coches en trabajo", "cars.none": "Ningún coche en trabajo. Un trabajo se abre en el ordenador del taller.", "cars.open": "Abrir por etiqueta",
  "cars.emergency": "Emergencia", "cars.who": "Eres {name}", "cars.ready": "Sigue: {step}", "cars.waiting": "Espera hasta {time}: {step}",
  "cars.since": "Abierto desde {time}, como tarde {latest}. {step}", "cars.over": "Todo hecho. Listo para entregar.", "cars.stopped": "Parado – peligro",
  "cars.paused": "En pausa", "cars.sheet": "Su plan aún no está en este teléfono. Llega con el próximo contacto.", "cars.closed": "Este trabajo está cerrado.",
  "cars.toolate": "Demasiado tarde: {step}", "cars.notright": "No está bien: {step}",

  "open.title": "Abrir por etiqueta", "open.how": "Haz una foto de la etiqueta o escribe los seis caracteres bajo el código.", "open.photo": "Foto de la etiqueta",
  "open.scan": "Escanear", "open.scanning": "Mantén la etiqueta en la imagen", "open.code": "Seis caracteres bajo el código", "open.do": "Abrir",
  "open.unknown": "Ningún trabajo abierto para {code} en este teléfono. Puedes dejar una nota para la oficina.", "open.unreadable": "No se puede leer la etiqueta en esta foto. Acércate, evita reflejos o escribe el código.",
  "open.away": "El ordenador del taller no contesta y no se puede leer una foto ahora. Escribe el código.", "open.note": "Dejar una nota sobre {code}",
  "note.title": "Nota sobre {code}", "note.words": "¿Qué hay que saber?", "note.photo": "Añadir una foto", "note.photos": { one: "{n} foto", other: "{n} fotos" },
  "note.do": "Enviar a la oficina", "note.sent": "La oficina la tiene.", "note.away": "El ordenador del taller no contesta. La nota queda aquí; envíala cuando conteste.",

  "place.part": "{part} {n} de {total}", "place.step": "paso {n} de {total}", "place.last": "último: {step} {time}", "place.nolast": "aún nada hecho",
  "place.next": "después: {step}", "place.nonext": "después: nada más en este trabajo",
  "step.why": "por qué", "step.tools": "Coge:", "step.wrong": "si sale mal", "step.done": "Hecho", "step.at": "{place}: {step}",
 "step.mix.line": "{ml} de {product} en {water} de agua", "step.use": "{ml} de {product}", "step.places": "Abarca: {places}",
  "step.photo": "Hacer una foto", "step.photo.why": "Este paso necesita una foto.", "step.batch": "Lote de {product}", "step.read": "Medir: {reading}",
  "step.read.on": "{reading}, {subject}", "step.reading": "{reading}: {value}, medido {time}, vale hasta {until}", "step.again": "Medir otra vez",
  "step.borrow": "Tomar {value} de {car}, medido {time}", "step.ready.until": "Como tarde {time}", "step.ready.span": "quedan {span}",
  "step.meanwhile": "Esto es fuera de turno: lo elegiste mientras otro paso espera.", "step.turn": "Volver al paso que toca",
  "step.clock": "Este teléfono no oye al taller desde {time}. La espera la contó solo el reloj de este teléfono.",

  "other.title": "Otra persona debe comprobarlo", "other.why": "Lo hizo {names}. Lo mira otra persona.", "other.do": "Pasar el teléfono",
  "limits.title": "Fuera de límites", "limits.below": "{name}: {value}. Debe ser al menos {limit}.", "limits.above": "{name}: {value}. Puede ser como mucho {limit}.",
  "limits.dew": "La superficie está a {value}. Debe estar al menos a {limit}, o se formará rocío bajo el recubrimiento.", "limits.sun": "El panel está al sol directo. Lleva el coche a la sombra o espera.",
  "limits.read": "Medir otra vez", "limits.lead": "Seguir de todos modos: decide un encargado", "limits.what": "Calienta o enfría el coche o el taller, deja reposar y mide otra vez.",

  "act.notright": "No está bien", "act.back": "Retirar", "act.pause": "Pausa", "act.stop": "Parar – peligro", "act.emergency": "Emergencia", "act.label": "Etiqueta",
  "act.swap": "Cambiar a {name}", "act.who": "Cambiar persona",

  "wait.title": "Espera", "wait.until": "hasta {time}", "wait.left": "quedan {span}", "wait.why": "Después de: {step}, {time}. Espera {least} ({kind}).", "wait.basis": "Según: {basis}",
  "wait.opened": "Abierto desde {time}, hace {span}", "wait.meanwhile": "Mientras tanto", "wait.meanwhile.none": "Nada más se puede hacer ahora en los coches de este teléfono.",
  "wait.window": "Después hasta {time}, como tarde.", "wait.nowindow": "Sin hora límite.",
  "late.title": "Demasiado tarde", "late.why": "{hold}: como tarde era {time}, hace {span}.", "late.reopen": "Qué hacer en su lugar: hacer esto otra vez.", "late.noway": "Pregunta a un encargado qué hacer.",
  "late.do": "Hacerlo otra vez", "late.decide": "Lo decide un encargado.",
  "first.title": "Algo va primero", "first.do": "Primero: {step}",
  "hold.flash": "evaporación", "hold.dwell": "actuación", "hold.recoat": "ventana de repintado", "hold.cure": "curado", "hold.window": "ventana",
  "hold.more": "{step} (+{n})", "hold.opens": "{step}: se abre {time}", "hold.opens.in": "{step}: en {span}", "hold.open": "{step}: ya, como tarde {time}", "hold.open.in": "{step}: ya, quedan {span}",
  "hold.nolimit": "{step}: abierto desde {time}", "hold.late": "{step}: {span} de más, hazlo ya",

  "coat.who": "¿Quién hace qué?", "coat.spreads": "{a} extiende, {b} nivela", "coat.alone": "{a} a solas", "coat.swap": "Cambiar: {a} extiende, {b} nivela",
  "coat.level": "Nivelado", "coat.spread": "Extendido", "coat.wiped": "Limpio", "coat.none": "Ningún panel está húmedo", "coat.all": "Todos los paneles están extendidos",
  "coat.other": "Otro panel", "coat.wet": { one: "{n} panel húmedo", other: "{n} paneles húmedos" }, "coat.cap": "{n} húmedos: nivela uno antes", "coat.cap.hint": "como mucho {n} húmedos",
  "coat.arms": "extendiendo – listo en {span}", "coat.wait": "se abre {time}", "coat.from": "nivelar en {span}", "coat.now": "nivelar ya", "coat.left": "quedan {span}", "coat.over": "{span} tarde",
 "coat.look": "Decide el aspecto del panel. El reloj recuerda.", "coat.progress": "{n} de {total} paneles", "coat.lamp": "Para la lámpara: {panels}",
  "coat.tiles": "¿Qué panel?", "coat.tiles.how": "Toca un panel húmedo para anotarlo nivelado, u otro para extenderlo ahora.", "coat.needs": "Mide antes: {reading}",
  "coat.clockphone": "Este teléfono lleva el reloj del coche", "coat.clockphone.other": "Este teléfono no oye al taller: otro teléfono lleva el reloj del coche. Anota allí las capas.",

  "wash.next": "Ahora", "wash.trouble": "Problema en un panel", "wash.trouble.how": "Toca un panel solo si algo va mal ahí.", "wash.late": "¿Olvidaste anotar algo?",
  "wash.dwell": "en el coche desde hace {span}", "wash.rinse": "Ahora está siempre permitido.", "wash.more": "faltan {span}",

 "read.on": "en", "read.typed": "Escrito", "read.note": "Anotar {value}", "read.type": "Escribe el número",
  "read.sure": "¿Es correcto {value}?", "read.range": "Suele estar entre {min} y {max}.", "read.yes": "Sí, {value}", "read.minus": "menos",
  "read.point": "coma", "read.erase": "borrar", "read.least": "mínimo {value}", "read.most": "máximo {value}", "read.ok": "dentro de los límites", "read.low": "bajo el límite", "read.high": "sobre el límite",
 "subject.car": "el coche", "subject.air": "el aire de este puesto",

  "answer.title": "¿Qué ves?", "photo.title": "Foto",
  "photo.bad": "Este archivo no se puede leer como imagen. Haz otra.",

  "trouble.title": "No está bien", "trouble.what": "¿Qué no está bien?", "trouble.where": "¿Dónde?", "trouble.do": "Anotar que no está bien",
  "trouble.open": "No está bien", "trouble.next": "Decide un encargado: hacerlo otra vez o aceptarlo como está.", "trouble.redo": "Hacerlo otra vez", "trouble.accept": "Aceptar como está",
  "lead.who": "¿Qué encargado decide?", "lead.none": "Este teléfono no conoce a ningún encargado ni dueño.", "lead.reason": "Motivo", "lead.claim": "Se anota con este nombre, marcado como sin confirmar. Se confirma con el PIN; hasta entonces el coche no se puede entregar.",
  "lead.pin": "PIN", "lead.confirm": "Confirmar con PIN", "lead.offline": "Sin el taller: anotarlo sin confirmar", "lead.reason.need": "Escribe el motivo.", "lead.pin.need": "Escribe el PIN.",
  "pin.wrong": "Este PIN no es correcto.", "pin.locked": "Demasiados intentos. Espera o usa otro dispositivo.", "pin.away": "El ordenador del taller no contesta: ahora no se puede comprobar un PIN.", "pin.other": "El ordenador del taller dijo: {why}",

  "back.title": "Retirar", "back.how": "Elige lo que se anotó por error. Las dos anotaciones quedan en el registro.", "back.none": "Nada que retirar.", "back.reason": "¿Por qué?",
  "back.reason.tap": "Toque por error", "back.reason.panel": "Panel equivocado", "back.reason.notdone": "No está hecho",
  "amend.title": "Rectificar", "amend.how": "El primer valor sigue legible.", "amend.new": "Valor nuevo", "amend.do": "Rectificarlo", "amend.value": "Valor", "amend.person": "Quién lo hizo", "amend.batch": "Lote", "amend.happened": "Cuándo", "amend.old": "primero: {value}",

  "more.title": "Más", "more.steps": "Todos los pasos", "more.log": "Registro de este trabajo", "more.late": "Anotar algo hecho antes", "more.leave": "Omitir un paso", "more.damage": "Daño encontrado",
 "more.amend": "Rectificar una anotación", "more.close": "Cerrar por hoy", "more.label": "Etiqueta y ficha de seguridad",
  "steps.title": "Todos los pasos", "steps.how": "Un paso cada vez. Toca un paso que esté listo para hacerlo ahora.",
  "log.title": "Registro de este trabajo", "log.none": "Aún nada anotado.", "log.here": "solo en este teléfono", "log.by": "{name}, {time}", "log.noted": "anotado por {name}", "log.taken": "retirado", "log.late": "anotado tarde",
  "late.entry": "Anotado tarde", "late.entry.which": "¿Qué se hizo?", "late.entry.when": "¿A qué hora, más o menos?", "late.entry.who": "¿Quién lo hizo?", "late.entry.do": "{step}, sobre las {time}", "late.entry.none": "Nada que anotar tarde.",
 "late.entry.note": "Queda marcado como anotado tarde.",
  "leave.title": "Omitir", "leave.how": "Un paso omitido necesita un motivo y el nombre de quien decidió.", "leave.do": "Omitirlo",

  "pause.why": "¿Por qué? (puede quedar vacío)", "pause.break": "Descanso", "pause.parts": "Esperando material", "pause.car": "Otro coche antes", "pause.day": "Cerrar por hoy",
  "day.title": "Cerrar por hoy", "day.open": "¿Qué queda abierto?", "day.where": "¿Dónde están el coche y las llaves?", "day.first": "¿Qué va primero mañana?", "day.do": "Cerrar por hoy", "day.sent": "Todo está en el ordenador del taller. Buenas noches.", "day.unsent": "Aún no está todo en el ordenador del taller. Quédate un momento cerca.",
  "over.title": "En pausa", "over.by": "{name} pausó a las {time}", "over.note": "Su nota", "over.last": "Lo último hecho", "over.open": "¿Está hecho?", "over.done": "Lo miré: está hecho", "over.again": "Hacerlo otra vez", "over.unsure": "No se sabe: otra vez", "over.do": "Hacerme cargo", "over.resume": "Seguir", "over.all": "Contesta a cada uno.",
  "over.expired": "Ya no vale", "over.reading": "{name}: hay que medir otra vez", "over.wipe": "{panel}: limpiado antes de la noche, limpia otra vez", "over.look": "Busca: cinta olvidada, toallas mojadas, botellas sin etiqueta.", "over.unheard": "Este teléfono no oye al taller desde {time}. Otro teléfono puede haber anotado más.", "over.gap": "Nada anotado durante {span}. El último paso: {step}. ¿Se terminó?",

  "damage.title": "Daño encontrado", "damage.where": "¿Dónde?", "damage.words": "¿Qué es?", "damage.mm": "¿Qué largo, mm?", "damage.do": "Anotar el daño", "damage.photo": "Foto", "damage.need": "Di dónde y qué.",
  "stop.title": "Parado – peligro", "stop.how": "El trabajo en este coche está parado. Aléjate, ayuda a quien lo necesite y después di qué pasó.", "stop.note": "¿Qué pasó?", "stop.add": "Anotar qué pasó", "stop.clear": "Un encargado lo libera", "stop.by": "Parado por {name} a las {time}",
  "stop.rescue": "Sigue permitido: {step}",
  "emergency.title": "Emergencia", "emergency.none": "El dueño no ha rellenado esta página. Llama al número de emergencias local.", "emergency.first": "Primeros auxilios, según las fichas", "emergency.call": "Llamar",
  "emergency.number": "Número de emergencias", "emergency.poison": "Información toxicológica", "emergency.address": "Dirección de este taller", "emergency.eyewash": "Lavaojos", "emergency.extinguisher": "Extintor", "emergency.first_aider": "Socorrista", "emergency.assembly": "Punto de reunión", "emergency.note": "Además",
  "safety.line": "Sigue la etiqueta y la ficha de seguridad del producto, las normas locales y el consejo de profesionales autorizados. Si difieren de esta pantalla, síguelos a ellos.",
  "label.title": "Etiqueta y ficha de seguridad", "label.from": "De la etiqueta", "label.none": "Este paso no usa ningún producto.", "label.hazards": "Peligros", "label.precautions": "Precauciones", "label.firstaid": "Primeros auxilios", "label.sds": "Ficha de seguridad", "label.nosds": "No hay ficha de seguridad en este teléfono. Pídela al dueño antes de empezar.", "label.batch": "Lote {batch}", "label.expiry": "usar antes de {date}", "label.all": "Todos los productos de este trabajo",
  "batch.title": "Lote", "batch.batch": "Lote en la botella", "batch.expiry": "Usar antes de", "batch.do": "Anotar el lote", "batch.need": "Escribe el lote. Si no hay, escribe: ninguno.", "batch.past": "{date} ya pasó. No lo uses; pregunta a un encargado.",
  "ppe.title": "Ponte", "ppe.gloves": "guantes", "ppe.eyes": "protección ocular", "ppe.respirator": "respirador", "ppe.hearing": "protección auditiva", "ppe.apron": "delantal", "ppe.shoes": "calzado de seguridad", "ppe.mask": "mascarilla",

  "release.title": "Entrega", "release.how": "Todo lo de este trabajo está hecho. {role} lo revisa y autoriza la entrega.", "release.lead": "Un encargado", "release.owner": "El dueño", "release.do": "Autorizar", "release.first": "Autorizar la entrega", "release.sure": "Autorizar con este nombre y PIN", "release.online": "La entrega necesita el ordenador del taller: allí se comprueba el PIN.", "release.confirm": "Confirmar: {what}", "release.because": "Aún pendiente",
  "release.claimed": { one: "{n} decisión por confirmar", other: "{n} decisiones por confirmar" }, "release.point": "{role} lo revisa aquí antes de seguir.",
  "job.over": "Todo está hecho", "job.released": "Entregado {time}",
  "clockback.title": "El reloj de este teléfono fue hacia atrás", "clockback.how": "Marca {now}, pero ya anotó algo a las {seen}. Pon el reloj del teléfono en automático.", "clockback.again": "Probar otra vez", "clockback.anyway": "Anotarlo de todos modos (quedará marcado)",

  "look.empty": "aún nada", "look.bare": "limpio y desnudo", "look.one": "primera capa puesta", "look.two": "segunda capa puesta", "look.bad": "no está bien", "look.until": "espera hasta {time}",

  "event.job-opened": "Trabajo abierto", "event.done": "Hecho", "event.reading": "Medido", "event.photo": "Foto", "event.applied": "Producto", "event.not-right": "No está bien", "event.damage-found": "Daño encontrado", "event.taken-back": "Retirado",
  "event.amended": "Rectificado", "event.left-out": "Omitido", "event.decided": "Decidido", "event.reopened": "Rehacer", "event.paused": "Pausa", "event.resumed": "Seguido", "event.taken-over": "Relevo", "event.stopped": "Parado – peligro", "event.cleared": "Liberado",
  "event.roles": "Quién hace qué", "event.sheet-changed": "Plan cambiado", "event.clock-phone": "Teléfono reloj", "event.released": "Entregado",
  "outcome.accept-as-is": "aceptado como está", "outcome.redo": "rehacer", "outcome.confirmed": "confirmado", "outcome.refused": "rechazado",
};
