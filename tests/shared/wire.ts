import { connect, createServer, type Socket } from 'node:net';

/** A way between two places on this machine that can be cut, or goes silent as Wi-Fi out of reach does. */
export class Wire {
  mode: 'whole' | 'cut' | 'silent' = 'whole';
  readonly #sockets = new Set<Socket>();
  port = 0;
  readonly #server = createServer((near) => this.#join(near));
  constructor(readonly to: () => number) {}

  static async open(to: () => number): Promise<Wire> {
    const wire = new Wire(to);
    await new Promise<void>((done) => wire.#server.listen(0, '127.0.0.1', done));
    wire.port = (wire.#server.address() as { port: number }).port;
    return wire;
  }

  #join(near: Socket): void {
    if (this.mode === 'cut') return void near.destroy();
    const far = connect(this.to(), '127.0.0.1');
    for (const [from, into] of [
      [near, far],
      [far, near],
    ] as const) {
      this.#sockets.add(from);
      from.setNoDelay(true);
      from.on('data', (bytes) => {
        if (this.mode === 'whole' && !into.destroyed) into.write(bytes);
      });
      const end = () => {
        near.destroy();
        far.destroy();
        this.#sockets.delete(from);
      };
      from.on('close', end).on('error', end);
    }
  }

  #drop(): void {
    for (const socket of this.#sockets) socket.destroy();
  }
  cut(): void {
    this.mode = 'cut';
    this.#drop();
  }
  silence(): void {
    this.mode = 'silent';
  }
  mend(): void {
    if (this.mode === 'silent') this.#drop();
    this.mode = 'whole';
  }
  close(): void {
    this.#drop();
    this.#server.close();
  }
}
