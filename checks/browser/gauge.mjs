// A gauge that types like a keyboard, played into the page with exact times between its keys.

/** Codes of keys as Windows numbers them; the browser wants them beside the letters. */
function code(key) {
  if (key === 'Enter') return 13;
  if (key === 'Tab') return 9;
  if (key === '.') return 190;
  if (key === ',') return 188;
  if (key === '+') return 187;
  if (key === ' ') return 32;
  return key.toUpperCase().charCodeAt(0);
}

export class Gauge {
  static async of(context, page) {
    const gauge = new Gauge();
    gauge.session = await context.newCDPSession(page);
    gauge.clock = Date.now() / 1000;
    return gauge;
  }

  /** Presses its button once: `text`, then what it ends with, `gapMs` from key to key. */
  async send(text, { gapMs = 5, suffix = 'Enter', at = null } = {}) {
    this.clock = at ?? Math.max(this.clock, Date.now() / 1000);
    const keys = [...text, ...(suffix ? [suffix] : [])];
    const sent = [];
    for (const key of keys) {
      const typed = key === 'Enter' ? '\r' : key === 'Tab' ? '' : key;
      const event = { key, windowsVirtualKeyCode: code(key), timestamp: this.clock };
      // Not waited for one by one: the keys come as fast as the wire takes them, and carry their own times. On a busy machine
      // a wait between two keys would be a pause that the page takes for the end of what the gauge sends.
      sent.push(this.session.send('Input.dispatchKeyEvent', { ...event, type: typed ? 'keyDown' : 'rawKeyDown', ...(typed ? { text: typed } : {}) }));
      sent.push(this.session.send('Input.dispatchKeyEvent', { ...event, type: 'keyUp', timestamp: this.clock + 0.001 }));
      this.clock += gapMs / 1000;
    }
    await Promise.all(sent);
    this.clock += 0.1;
  }
}
