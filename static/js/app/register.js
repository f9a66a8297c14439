// The worker's registration, under the page's trusted-types policy: the policy can be made only once, so one module does it.

const PATH = "/sw.js";

const address = () => {
  if (!globalThis.trustedTypes) return PATH;
  return trustedTypes
    .createPolicy("bayflow-worker", {
      createScriptURL: (url) => {
        if (url !== PATH) throw new TypeError(url);
        return url;
      },
    })
    .createScriptURL(PATH);
};

let asked = null;

/** The one registration of the worker: a promise, the same for everybody; rejects where a worker cannot be had. */
export const registered = () => (asked ??= navigator.serviceWorker.register(address(), { updateViaCache: "none" }));
