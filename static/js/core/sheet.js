// The sheet: one job's frozen plan, and quick ways to look things up in it. Twin of bayflow/job/sheet.py.

/** No task is done again more often than this. */
export const ATTEMPTS = 999;

const KEY = /^([^]+)#([1-9][0-9]{0,2})$/;

/** An object without inherited names, so that an id such as "constructor" is just an id. */
export const dictionary = () => Object.create(null);

/**
 * The task key that events carry: `procedure/step@place#attempt`.
 * @param {string} taskId
 * @param {number} attempt
 * @returns {string}
 */
export const key = (taskId, attempt) => `${taskId}#${attempt}`;

/**
 * Task id and attempt of a task key.
 * @param {string} taskKey
 * @returns {[string, number]|null} null where it is no task key
 */
export function split(taskKey) {
  const found = KEY.exec(taskKey);
  return found && [found[1], Number(found[2])];
}

/**
 * Look-ups over one sheet, built once.
 * @param {object} sheet
 * @returns {{sheet: object, tasks: Object<string, object>, validity: Object<string, number>, spread: number,
 *   before: Object<string, string[]>, after: Object<string, string[]>, groups: Object<string, string[]>,
 *   limits: Object<string, object[]>, firstKeys: Object<string, string>}}
 *   `before`: what each task waits for; `after`: what waits for it; `groups`: ids signed by one event; `limits`: each
 *   task's, equal ones being one object; `firstKeys`: each task's key of attempt 1, made once as the gate asks so often
 */
export function makeIndex(sheet) {
  const tasks = dictionary();
  const validity = dictionary();
  for (const task of sheet.tasks) tasks[task.id] = task;
  for (const [name, reading] of Object.entries(sheet.readings)) validity[name] = reading.valid_ms;
  const before = dictionary();
  const after = dictionary();
  const groups = dictionary();
  const firstKeys = dictionary();
  const limits = dictionary();
  const shared = new Map();
  for (const task of Object.values(tasks)) {
    before[task.id] = waitsFor(tasks, task.id);
    after[task.id] = [];
    firstKeys[task.id] = key(task.id, 1);
    limits[task.id] = task.limits.map((limit) => share(shared, limit));
    (groups[task.group] ??= []).push(task.id);
  }
  for (const [id, firsts] of Object.entries(before)) for (const first of firsts) after[first].push(id);
  const spread = sheet.readings.film?.spread ?? 0;
  return { sheet, tasks, validity, spread, before, after, groups, limits, firstKeys };
}

/** The first limit that was equal to this one, so that the gate judges each only once. */
function share(shared, limit) {
  const text = JSON.stringify(limit);
  if (!shared.has(text)) shared.set(text, limit);
  return shared.get(text);
}

/**
 * `after` and every hold's `since`, its own group apart, each once. What is signed together waits together: also for what
 * the earlier ones of its group wait for, and whatever waits for a task waits for the earlier ones of its group too.
 */
function waitsFor(tasks, id) {
  const found = new Set();
  for (const mate of together(tasks, id)) {
    for (const first of named(tasks, mate)) {
      if (tasks[first].group !== tasks[id].group) for (const name of together(tasks, first)) found.add(name);
    }
  }
  return [...found];
}

/** A task and those of its group that come before it. */
function together(tasks, id) {
  const found = new Set([id]);
  for (const mate of found) {
    for (const name of named(tasks, mate)) if (tasks[name].group === tasks[id].group) found.add(name);
  }
  return [...found];
}

function named(tasks, id) {
  const names = new Set(tasks[id].after);
  for (const hold of tasks[id].holds) for (const since of hold.since) names.add(since);
  return [...names].filter((name) => tasks[name]);
}

/**
 * What must be done again when a task is: itself, what is signed with it and comes after it, its followers on that
 * place, later checks of the car, and, where work (not a look or a reading) is done again, its followers on every place
 * that it touched.
 * @param {ReturnType<typeof makeIndex>} index
 * @param {string} taskId
 * @returns {string[]} in the sheet's order
 */
export function followers(index, taskId) {
  const first = index.tasks[taskId];
  const panels = dictionary();
  for (const panel of index.sheet.body.panels) panels[panel.id] = ["car", panel.side, ...panel.bands];
  const reached = new Set(index.groups[first.group].filter((id) => together(index.tasks, id).includes(taskId)));
  for (const id of reached) for (const later of index.after[id]) reached.add(later);
  const again = (id) => {
    const task = index.tasks[id];
    if (id === taskId || task.kind === "verify" || task.kind === "release" || task.place === first.place) return true;
    return first.kind === "do" && (panels[task.place] ?? ["car"]).includes(first.place);
  };
  return Object.keys(index.tasks).filter((id) => reached.has(id) && again(id));
}
