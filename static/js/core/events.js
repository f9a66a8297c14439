// When an event is taken to have happened. Twin of `when`, `happened` and `order` in bayflow/job/events.py.

/**
 * Shop time (ms UTC) of an event: the phone's stamp less its known offset, inside the window that the evidence leaves;
 * for a late entry the time that was claimed, if that is earlier.
 * @param {object} event
 * @returns {number}
 */
export function when(event) {
  let t = event.at - (event.offset || 0);
  const window = event.window;
  if (window) t = Math.min(Math.max(t, window[0]), window[1]);
  const claimed = happened(event);
  return claimed === null ? t : Math.min(claimed, t);
}

/**
 * The time that a late entry claims.
 * @param {object} event
 * @returns {number|null} null where the event is no late entry
 */
export function happened(event) {
  const claimed = event.data.happened;
  return typeof claimed === "number" ? claimed : null;
}

/**
 * Sorts events by (time, id): the same on every machine whatever the order of arrival. Ids are ASCII.
 * @param {object[]} events
 * @returns {object[]} a new list
 */
export function inOrder(events) {
  const stamped = events.map((event) => ({ t: when(event), event }));
  stamped.sort((a, b) => a.t - b.t || (a.event.id < b.event.id ? -1 : 1));
  return stamped.map((one) => one.event);
}
