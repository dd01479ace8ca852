// The map with its tools: enlarge, colour, as a list, and the play of a simulated day.

import { Animation } from "./animate.js";
import { MapColours, WAYS } from "./colours.js";
import { make } from "./dom.js";
import { ProcessMap } from "./map.js";
import { mapList } from "./maplist.js";

export class MapPanel {
  constructor(box, { name, text, run, choose }) {
    Object.assign(this, { name, text, run, choose });
    const button = (words, act, label = null) => make("button", { type: "button", onclick: act, "aria-label": label }, words);
    const way = make("select", { id: "mapway", onchange: () => { this.colours.way = way.value; this.colours.paint(); } },
      ...WAYS.map(([value, words]) => make("option", { value }, words)));
    this.listButton = make("button", { type: "button", "aria-pressed": "false", onclick: () => this.#asList() }, "As a list");
    this.playButton = button("Play a day", () => this.#play());
    this.tools = make("div", { class: "maptools", role: "toolbar", "aria-label": "The map" },
      button("+", () => this.map.zoom(1.3), "Enlarge"), button("−", () => this.map.zoom(1 / 1.3), "Make smaller"),
      button("Whole", () => this.map.whole(), "Show the whole map"),
      make("label", { for: "mapway" }, "Colour by "), way, this.listButton, this.playButton);
    this.legend = make("div", { class: "legend" });
    this.player = make("div", { class: "playerbox", hidden: true });
    this.place = make("div", { class: "mapbox" });
    this.list = make("div", { class: "maplist", hidden: true });
    this.hint = make("p", { class: "note" }, "Drag to move, Ctrl and the wheel to enlarge. With the keyboard: arrows go from operation to operation, Enter goes to its text.");
    box.append(this.tools, this.player, this.legend, this.place, this.hint, this.list);
    this.map = new ProcessMap(this.place, choose);
    this.colours = new MapColours(this.map, this.legend);
    this.animation = new Animation(this.player, this.map);
    this.animation.name = (id) => this.operations?.find((one) => one.id === id)?.name ?? id;
    this.animation.onclose = () => this.playButton.focus();
  }

  show({ map, numbers }) {
    if (!map) return;
    this.operations = map.operations ?? [];
    const redrawn = this.map.show(map.svg);
    this.colours.operations = this.operations;
    this.colours.money = numbers?.money ?? "Money";
    this.colours.paint();
    if (redrawn) this.animation.attach();
    if (!this.list.hidden) this.#list();
  }

  states(states) {
    this.colours.states = states;
    this.colours.paint();
  }

  mark(id) { this.map.mark(id); }

  refit() { this.map.refit(); }

  #asList() {
    const open = this.list.hidden;
    this.list.hidden = !open;
    this.place.hidden = this.hint.hidden = open;
    this.listButton.setAttribute("aria-pressed", String(open));
    if (open) this.#list();
    else this.map.refit();
  }

  #list() {
    this.list.replaceChildren(mapList(this.operations, this.colours.money, this.choose));
  }

  #play() {
    this.run("trace", { name: this.name, text: this.text(), options: {} }, {
      done: (data) => {
        if (!this.list.hidden) this.#asList();
        this.animation.open(data);
        this.player.querySelector(".play").focus();
      },
    }, "Simulating a day to play");
  }
}
