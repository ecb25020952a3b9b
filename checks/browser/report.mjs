// Where faults are collected. Each says page, size, rule and element, so that somebody can go and mend it.

export class Report {
  constructor() {
    this.faults = [];
    this.figures = [];
    this.counts = new Map();
  }

  /** A fault. `page` is an address or a file, `size` the window, `rule` the check, `element` what is at fault. */
  fault(page, size, rule, element, says = '') {
    this.faults.push({ page, size, rule, element: short(element), says: short(says, 400) });
  }

  /** So many things were looked at: a check that looked at nothing is a fault of its own. */
  looked(check, n = 1) {
    this.counts.set(check, (this.counts.get(check) ?? 0) + n);
  }

  /** A number that was measured, with what it must keep to. A number over its bound is a fault. */
  figure(what, value, bound, unit = '', page = 'measured') {
    this.figures.push({ what, value, bound, unit });
    if (bound !== null && !(value <= bound)) this.fault(page, '-', 'bound', what, `${value} ${unit}, at most ${bound}`);
  }

  /** Everything, as people read it. */
  text() {
    const lines = [];
    for (const { what, value, bound, unit } of this.figures) {
      lines.push(`  ${what}: ${value} ${unit}${bound === null ? '' : ` (at most ${bound})`}`.trimEnd());
    }
    for (const [check, n] of this.counts) lines.push(`  ${check}: ${n} looked at`);
    // One fault in several windows, or with other figures in each, is one line.
    const seen = new Map();
    for (const fault of this.faults) {
      const key = [fault.page, fault.rule, fault.element].join('\n').replace(/[\d.]+/g, 'n');
      const known = seen.get(key);
      if (known) known.sizes.add(fault.size);
      else seen.set(key, { ...fault, sizes: new Set([fault.size]) });
    }
    for (const { page, sizes, rule, element, says } of seen.values()) {
      lines.push(`FAULT  page ${page} · size ${[...sizes].join(', ')} · rule ${rule} · element ${element}${says ? ` · ${says}` : ''}`);
    }
    lines.push(`${seen.size} faults`);
    return lines.join('\n');
  }
}

function short(text, most = 160) {
  const line = String(text).replace(/\s+/g, ' ').trim();
  return line.length > most ? `${line.slice(0, most)} …` : line;
}
