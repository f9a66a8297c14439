// English. Speak as a good colleague would.

export default {
  "yes": "Yes", "no": "No", "back": "Back", "cars": "Cars", "more": "More",
  "days": "{d} d {h} h",

  "sync.all": "all on shop", "sync.unsent": { one: "{n} not sent, oldest {time}", other: "{n} not sent, oldest {time}" },
  "sync.photos": { one: "{n} photo not sent", other: "{n} photos not sent" },
  "sync.heard": "heard from shop {time}", "sync.never": "not heard from the shop yet",
  "sync.away": "No answer from the shop. Work on: everything is kept on this phone.",
  "sync.unpaired": "The shop no longer knows this phone. Everything is kept here. Pair it again at the office screen.",
  "sync.ill": "The shop's computer answers with a fault. Work on: everything is kept on this phone.",
  "sync.refusing": "The shop's computer did not take what this phone sent: {why}",
  "sync.refused": { one: "The shop did not take {n} entry", other: "The shop did not take {n} entries" },
  "unsent.title": "What is where", "unsent.none": "Everything noted on this phone is on the shop's computer.",
  "unsent.list": "Only on this phone", "unsent.photos": "Photos only on this phone", "unsent.refused": "Not taken by the shop",
  "unsent.refused.do": "Show this to the owner. Nothing here is deleted.",
  "unsent.now": "Try now", "unsent.export": "Save as a file", "unsent.export.why": "A file for the owner, if this phone can't reach the shop.",
  "unsent.file": "bayflow-not-sent", "phone.this": "This phone: {name}",

  "update": "A newer version of this app is here.", "update.do": "Load it now",
  "trouble": "This could not be written to the phone: {why}. It is not noted. Free some space, or take another phone.",
  "storage": "This browser can't keep data. Open the app in its own window, not a private one.",

  "pair.title": "Pair this phone", "pair.how": "On the shop's computer, open Phones and show the pairing code. Point this phone's camera at it, or type the code here.",
  "pair.code": "Pairing code", "pair.name": "What do you call this phone?", "pair.name.hint": "For instance: bay 2, blue case", "pair.do": "Pair this phone",
  "pair.fault.code": "The shop doesn't know this code, or it was used already. Get a new one from the office screen.",
  "pair.fault.reach": "The shop's computer doesn't answer. Is this phone on the shop's Wi-Fi?",
  "pair.fault.other": "The shop's computer said: {why}", "pair.fault.empty": "Type the code and a name.",

  "names.title": "Who is working?", "names.none": "No people yet. Add them on the shop's computer: People.",

  "role.technician": "technician", "role.lead": "lead", "role.owner": "owner",

  "cars.title": "Cars in work", "cars.none": "No car in work. A job is opened on the shop's computer.", "cars.open": "Open by label",
  "cars.emergency": "Emergency", "cars.who": "You are {name}", "cars.ready": "Next: {step}", "cars.waiting": "Waiting until {time}: {step}",
  "cars.since": "Open since {time}, latest {latest}. {step}", "cars.over": "All done. Ready to release.", "cars.stopped": "Stopped – unsafe",
  "cars.paused": "Paused", "cars.sheet": "Its plan is not on this phone yet. It comes with the next contact.", "cars.closed": "This job is closed.",
  "cars.toolate": "Too late: {step}", "cars.notright": "Not right: {step}",

  "open.title": "Open by label", "open.how": "Take a photo of the label, or type the six characters under the code.", "open.photo": "Photo of the label",
  "open.scan": "Scan", "open.scanning": "Hold the label in the picture", "open.code": "Six characters under the code", "open.do": "Open",
  "open.unknown": "No open job for {code} on this phone. You can leave a note for the office.", "open.unreadable": "The label can't be read in this photo. Come closer, avoid glare, or type the code.",
  "open.away": "The shop's computer doesn't answer, so a photo can't be read now. Type the code.", "open.note": "Leave a note about {code}",
  "note.title": "A note about {code}", "note.words": "What is to be known?", "note.photo": "Add a photo", "note.photos": { one: "{n} photo", other: "{n} photos" },
  "note.do": "Send to the office", "note.sent": "The office has it.", "note.away": "The shop's computer doesn't answer. The note stays here; send it when it does.",

  "place.part": "{part} {n} of {total}", "place.step": "step {n} of {total}", "place.last": "last: {step} {time}", "place.nolast": "nothing done yet",
  "place.next": "next: {step}", "place.nonext": "next: nothing more in this job",
  "step.why": "why", "step.tools": "Take:", "step.wrong": "if it goes wrong", "step.done": "Done", "step.at": "{place}: {step}",
 "step.mix.line": "{ml} {product} in {water} water", "step.use": "{ml} {product}", "step.places": "Covers: {places}",
  "step.photo": "Take a photo", "step.photo.why": "This step needs a photo.", "step.batch": "Tell the batch of {product}", "step.read": "Read: {reading}",
  "step.read.on": "{reading}, {subject}", "step.reading": "{reading}: {value}, read {time}, counts until {until}", "step.again": "Read again",
  "step.borrow": "Take {value} from {car}, read {time}", "step.ready.until": "Latest {time}", "step.ready.span": "{span} left",
  "step.meanwhile": "This is out of turn: you chose it while another step waits.", "step.turn": "Back to the step whose turn it is",
  "step.clock": "This phone has not heard from the shop since {time}. The wait was counted by this phone's own clock.",

  "other.title": "Somebody else must check this", "other.why": "{names} did it. Another person looks at it.", "other.do": "Hand the phone over",
  "limits.title": "Out of limits", "limits.below": "{name} is {value}. It must be at least {limit}.", "limits.above": "{name} is {value}. It may be at most {limit}.",
  "limits.dew": "The surface is {value}. It must be at least {limit}, or dew will form under the coating.", "limits.sun": "The panel is in direct sun. Move the car into the shade, or wait.",
  "limits.read": "Read again", "limits.lead": "Go on all the same: a lead decides", "limits.what": "Warm or cool the car or the bay, let it stand, and read again.",

  "act.notright": "Not right", "act.back": "Take back", "act.pause": "Pause", "act.stop": "Stop – unsafe", "act.emergency": "Emergency", "act.label": "Label",
  "act.swap": "Swap to {name}", "act.who": "Change person",

  "wait.title": "Waiting", "wait.until": "until {time}", "wait.left": "{span} left", "wait.why": "After: {step}, {time}. Wait {least} ({kind}).", "wait.basis": "From: {basis}",
  "wait.opened": "Open since {time}, {span} ago", "wait.meanwhile": "Meanwhile", "wait.meanwhile.none": "Nothing else can be done now on the cars on this phone.",
  "wait.window": "Then until {time}, latest.", "wait.nowindow": "No latest time.",
  "late.title": "Too late", "late.why": "{hold}: latest was {time}, {span} ago.", "late.reopen": "What to do instead: do these again.", "late.noway": "Ask a lead what to do.",
  "late.do": "Do it again", "late.decide": "A lead decides this.",
  "first.title": "Something comes first", "first.do": "First: {step}",
  "hold.flash": "flash", "hold.dwell": "dwell", "hold.recoat": "recoat window", "hold.cure": "cure", "hold.window": "window",
  "hold.more": "{step} (+{n})", "hold.opens": "{step}: opens {time}", "hold.opens.in": "{step}: in {span}", "hold.open": "{step}: now, latest {time}", "hold.open.in": "{step}: now, {span} left",
  "hold.nolimit": "{step}: open since {time}", "hold.late": "{step}: {span} over, go now",

  "coat.who": "Who does what?", "coat.spreads": "{a} spreads, {b} levels", "coat.alone": "{a} alone", "coat.swap": "Swap: {a} spreads, {b} levels",
  "coat.level": "Levelled", "coat.spread": "Spread", "coat.wiped": "Wiped", "coat.none": "No panel is wet", "coat.all": "Every panel is spread",
  "coat.other": "Other panel", "coat.wet": { one: "{n} panel wet", other: "{n} panels wet" }, "coat.cap": "{n} wet: level one first", "coat.cap.hint": "at most {n} wet",
  "coat.arms": "spreading – ready in {span}", "coat.wait": "opens {time}", "coat.from": "level in {span}", "coat.now": "level now", "coat.left": "{span} left", "coat.over": "{span} late",
 "coat.look": "The look of the panel decides. The clock reminds.", "coat.progress": "{n} of {total} panels", "coat.lamp": "For the lamp: {panels}",
  "coat.tiles": "Which panel?", "coat.tiles.how": "Tap a wet panel to note it levelled, or another one to spread it next.", "coat.needs": "Read first: {reading}",
  "coat.clockphone": "This phone keeps the car's clock", "coat.clockphone.other": "This phone can't hear the shop: another phone keeps the car's clock. Note coats there.",

  "wash.next": "Now", "wash.trouble": "Trouble on a panel", "wash.trouble.how": "Tap a panel only if something is wrong there.", "wash.late": "Forgot to note one?",
  "wash.dwell": "on the car for {span}", "wash.rinse": "Now is always allowed.", "wash.more": "{span} to go",

 "read.on": "on", "read.typed": "Typed", "read.note": "Note {value}", "read.type": "Type the number",
  "read.sure": "Is {value} right?", "read.range": "Usually between {min} and {max}.", "read.yes": "Yes, {value}", "read.minus": "minus",
  "read.point": "point", "read.erase": "erase", "read.least": "least {value}", "read.most": "most {value}", "read.ok": "inside the limits", "read.low": "below the limit", "read.high": "above the limit",
 "subject.car": "the car", "subject.air": "the air in this bay",

  "answer.title": "What do you see?", "photo.title": "Photo",
  "photo.bad": "This file can't be read as a picture. Take another one.",

  "trouble.title": "Not right", "trouble.what": "What is not right?", "trouble.where": "Where?", "trouble.do": "Note it as not right",
  "trouble.open": "Not right", "trouble.next": "A lead decides: do it again, or accept it as it is.", "trouble.redo": "Do it again", "trouble.accept": "Accept as is",
  "lead.who": "Which lead decides?", "lead.none": "No lead or owner is known on this phone.", "lead.reason": "Reason", "lead.claim": "Noted under this name, marked as not yet confirmed. It is confirmed with the PIN; until then the car can't be released.",
  "lead.pin": "PIN", "lead.confirm": "Confirm with PIN", "lead.offline": "Without the shop: note it as claimed", "lead.reason.need": "Write the reason.", "lead.pin.need": "Type the PIN.",
  "pin.wrong": "This PIN is not right.", "pin.locked": "Too many tries. Wait, or use another device.", "pin.away": "The shop's computer doesn't answer: a PIN can't be checked now.", "pin.other": "The shop's computer said: {why}",

  "back.title": "Take back", "back.how": "Choose what was noted by mistake. Both entries stay in the log.", "back.none": "Nothing to take back.", "back.reason": "Why?",
  "back.reason.tap": "Wrong tap", "back.reason.panel": "Wrong panel", "back.reason.notdone": "It isn't done",
  "amend.title": "Put right", "amend.how": "The first value stays readable.", "amend.new": "New value", "amend.do": "Put it right", "amend.value": "Value", "amend.person": "Who did it", "amend.batch": "Batch", "amend.happened": "When", "amend.old": "first: {value}",

  "more.title": "More", "more.steps": "All steps", "more.log": "Log of this job", "more.late": "Note something done earlier", "more.leave": "Leave a step out", "more.damage": "Damage found",
 "more.amend": "Put an entry right", "more.close": "Close for the day", "more.label": "Label and data sheet",
  "steps.title": "All steps", "steps.how": "One step at a time. Tap a step that is ready to do it now.",
  "log.title": "Log of this job", "log.none": "Nothing noted yet.", "log.here": "only on this phone", "log.by": "{name}, {time}", "log.noted": "noted by {name}", "log.taken": "taken back", "log.late": "noted late",
  "late.entry": "Noted late", "late.entry.which": "What was done?", "late.entry.when": "At about what time?", "late.entry.who": "Who did it?", "late.entry.do": "{step}, at about {time}", "late.entry.none": "Nothing to note late.",
 "late.entry.note": "It is marked as noted late.",
  "leave.title": "Leave out", "leave.how": "A step left out needs a reason and the name of who decided.", "leave.do": "Leave it out",

  "pause.why": "Why? (you may leave this empty)", "pause.break": "Break", "pause.parts": "Waiting for material", "pause.car": "Another car first", "pause.day": "Close for the day",
  "day.title": "Close for the day", "day.open": "What is open?", "day.where": "Where are the car and its keys?", "day.first": "What comes first tomorrow?", "day.do": "Close for the day", "day.sent": "Everything is on the shop's computer. Good night.", "day.unsent": "Not everything is on the shop's computer yet. Stay in reach a moment.",
  "over.title": "Paused", "over.by": "{name} paused at {time}", "over.note": "Their note", "over.last": "Last done", "over.open": "Is it done?", "over.done": "I looked: it is done", "over.again": "Do it again", "over.unsure": "Can't tell: do it again", "over.do": "Take over", "over.resume": "Go on", "over.all": "Answer for each of them.",
  "over.expired": "No longer counts", "over.reading": "{name}: needs a new reading", "over.wipe": "{panel}: wiped before the night, wipe again", "over.look": "Look for: tape left on, wet towels, bottles without a label.", "over.unheard": "This phone has not heard from the shop since {time}. Another phone may have noted more.", "over.gap": "Nothing was noted for {span}. The last step: {step}. Was it finished?",

  "damage.title": "Damage found", "damage.where": "Where?", "damage.words": "What is it?", "damage.mm": "How long, mm?", "damage.do": "Note the damage", "damage.photo": "Photo of it", "damage.need": "Say where and what.",
  "stop.title": "Stopped – unsafe", "stop.how": "Work on this car has stopped. Keep away, help whoever needs help, then say what happened.", "stop.note": "What happened?", "stop.add": "Note what happened", "stop.clear": "A lead clears it", "stop.by": "Stopped by {name} at {time}",
  "stop.rescue": "Still allowed: {step}",
  "emergency.title": "Emergency", "emergency.none": "The owner has not filled this page in. Call your local emergency number.", "emergency.first": "First aid, from the product sheets", "emergency.call": "Call",
  "emergency.number": "Emergency number", "emergency.poison": "Poison centre", "emergency.address": "This shop's address", "emergency.eyewash": "Eyewash", "emergency.extinguisher": "Fire extinguisher", "emergency.first_aider": "First aider", "emergency.assembly": "Where to gather", "emergency.note": "Also",
  "safety.line": "Follow the product label and safety data sheet, your local rules, and the advice of licensed professionals. If they differ from this screen, follow them.",
  "label.title": "Label and data sheet", "label.from": "From the label", "label.none": "This step uses no product.", "label.hazards": "Hazards", "label.precautions": "Precautions", "label.firstaid": "First aid", "label.sds": "Safety data sheet", "label.nosds": "No data sheet on this phone. Ask the owner for it before you start.", "label.batch": "Batch {batch}", "label.expiry": "use by {date}", "label.all": "All products of this job",
  "batch.title": "Batch", "batch.batch": "Batch on the bottle", "batch.expiry": "Use by", "batch.do": "Note the batch", "batch.need": "Type the batch. If there is none, write: none.", "batch.past": "{date} is past. Don't use it; ask a lead.",
  "ppe.title": "Wear", "ppe.gloves": "gloves", "ppe.eyes": "eye protection", "ppe.respirator": "respirator", "ppe.hearing": "hearing protection", "ppe.apron": "apron", "ppe.shoes": "safety shoes", "ppe.mask": "dust mask",

  "release.title": "Release", "release.how": "Everything in this job is done. {role} looks it over and releases the car.", "release.lead": "A lead", "release.owner": "The owner", "release.do": "Release", "release.first": "Release this car", "release.sure": "Release with this name and PIN", "release.online": "Release needs the shop's computer: the PIN is checked there.", "release.confirm": "Confirm: {what}", "release.because": "Still waiting",
  "release.claimed": { one: "{n} decision still to be confirmed", other: "{n} decisions still to be confirmed" }, "release.point": "{role} looks at it here before the work goes on.",
  "job.over": "Everything is done", "job.released": "Released {time}",
  "clockback.title": "This phone's clock went back", "clockback.how": "It says {now}, but it already noted something at {seen}. Set the phone's clock to automatic.", "clockback.again": "Try again", "clockback.anyway": "Note it all the same (it will be marked)",

  "look.empty": "nothing yet", "look.bare": "bare and wiped", "look.one": "first coat on", "look.two": "second coat on", "look.bad": "not right", "look.until": "waiting until {time}",

  "event.job-opened": "Job opened", "event.done": "Done", "event.reading": "Read", "event.photo": "Photo", "event.applied": "Product", "event.not-right": "Not right", "event.damage-found": "Damage found", "event.taken-back": "Taken back",
  "event.amended": "Put right", "event.left-out": "Left out", "event.decided": "Decided", "event.reopened": "Redo", "event.paused": "Paused", "event.resumed": "Went on", "event.taken-over": "Taken over", "event.stopped": "Stopped – unsafe", "event.cleared": "Cleared",
  "event.roles": "Who does what", "event.sheet-changed": "Plan changed", "event.clock-phone": "Clock phone", "event.released": "Released",
  "outcome.accept-as-is": "accepted as is", "outcome.redo": "redo", "outcome.confirmed": "confirmed", "outcome.refused": "refused",
};
