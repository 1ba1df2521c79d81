/* Runs the host's search in a hidden frame where the site is opened from a folder, because browsers
   start no worker there. Only files of the site are loaded into the frame and nothing is written
   inline, so the page's content security policy need allow nothing for it. */
(function () {
  "use strict";

  if (location.protocol !== "file:") {
    return;
  }

  function load(place, address) {
    return new Promise(function (resolve, reject) {
      var script = place.createElement("script");
      script.src = address;
      script.onload = resolve;
      script.onerror = reject;
      place.body.appendChild(script);
    });
  }

  class FrameWorker extends EventTarget {
    constructor(address) {
      super();
      this.onmessage = null;
      this.onerror = null;
      this.frame = document.createElement("iframe");
      this.frame.hidden = true;
      document.body.appendChild(this.frame);
      var inside = this.frame.contentWindow;
      inside.document.open();
      inside.document.write("<!doctype html><body></body>");
      inside.document.close();
      // What a worker expects to find around it.
      inside.postMessage = (data) => this.tell(new MessageEvent("message", { data: data }));
      inside.importScripts = function () {
        return Array.from(arguments).reduce(function (before, next) {
          return before.then(function () {
            return load(inside.document, next);
          });
        }, Promise.resolve());
      };
      this.ready = load(inside.document, address).catch(() => this.tell(new ErrorEvent("error")));
    }

    tell(event) {
      this.dispatchEvent(event);
      var handler = event.type === "message" ? this.onmessage : this.onerror;
      if (handler) {
        handler.call(this, event);
      }
    }

    postMessage(data) {
      this.ready.then(() => {
        var inside = this.frame.contentWindow;
        inside.dispatchEvent(new MessageEvent("message", { data: structuredClone(data) }));
      });
    }

    terminate() {
      this.frame.remove();
    }
  }

  window.IFrameWorker = FrameWorker; // by this name the host knows that it runs in a frame
  window.Worker = FrameWorker;
})();
