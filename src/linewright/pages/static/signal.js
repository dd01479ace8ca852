// One thing that others listen to.

export class Signal {
  #ears = new Set();

  on(ear) {
    this.#ears.add(ear);
    return () => this.#ears.delete(ear);
  }

  send(...said) {
    for (const ear of [...this.#ears]) ear(...said);
  }
}
