// The program, started on a free port with records of its own, and stopped again.

import { spawn } from 'node:child_process';
import { existsSync, mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { PATIENCE_MS } from './browser.mjs';

export class Server {
  constructor(program) {
    this.program = program;
    this.folder = mkdtempSync(join(tmpdir(), 'tenunder-pages-'));
    this.place = join(this.folder, 'shop.tenunder');
  }

  /** The pages over an empty record, or over the one that this server had before. */
  static async empty(program) {
    const server = new Server(program);
    await server.start();
    return server;
  }

  /** The pages of the invented shop. */
  static async invented(program) {
    const server = new Server(program);
    server.demo = true;
    await server.start();
    return server;
  }

  async start(port = 0) {
    const words = this.demo ? ['demo', '--serve', '--port', String(port)]
      : ['serve', '--record', this.place, '--port', String(port), ...(existsSync(this.place) ? [] : ['--new'])];
    this.process = spawn(this.program, words, { stdio: ['ignore', 'pipe', 'pipe'] });
    this.said = '';
    this.address = await new Promise((found, failed) => {
      const timer = setTimeout(() => failed(new Error(`${words.join(' ')} said no address: ${this.said}`)), PATIENCE_MS);
      const read = (bytes) => {
        this.said += bytes;
        const address = this.said.match(/http:\/\/127\.0\.0\.1:\d+/);
        if (address) {
          clearTimeout(timer);
          found(address[0]);
        }
      };
      this.process.stdout.on('data', read);
      this.process.stderr.on('data', read);
      this.process.on('exit', (code) => {
        clearTimeout(timer);
        failed(new Error(`${words.join(' ')} ended with ${code}: ${this.said}`));
      });
    });
  }

  get port() {
    return Number(new URL(this.address).port);
  }

  /** Kills it as a power cut would. */
  async kill() {
    await this.end('SIGKILL');
  }

  /** Starts it again where it was, so that open pages find it. */
  async again() {
    await this.start(this.port);
  }

  async end(signal) {
    const gone = new Promise((done) => this.process.once('exit', done));
    if (this.process.exitCode === null && this.process.signalCode === null) {
      this.process.kill(signal);
      const slow = setTimeout(() => this.process.kill('SIGKILL'), PATIENCE_MS);
      await gone;
      clearTimeout(slow);
    }
  }

  /** Stops it and removes its record. */
  async stop() {
    await this.end('SIGINT');
    rmSync(this.folder, { recursive: true, force: true });
  }
}
