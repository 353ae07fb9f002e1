/** Where the app is: the hash address, as a name and the parts after it. */
export interface Place {
  name: string;
  path: string[];
}

/** `#/live/ID` → `{name: 'live', path: ['ID']}`; no hash is the start screen. */
export function placeOf(hash: string): Place {
  const [name = '', ...path] = hash
    .replace(/^#?\/?/, '')
    .split('/')
    .map((part) => {
      try {
        return decodeURIComponent(part);
      } catch {
        return part;
      }
    });
  return { name, path };
}

/** `addressOf('live', id)` → `#/live/ID`. */
export function addressOf(name: string, ...path: string[]): string {
  return ['#', name, ...path.map(encodeURIComponent)].join('/');
}

export function goTo(name: string, ...path: string[]): void {
  location.hash = addressOf(name, ...path);
}

class Router {
  place = $state<Place>(placeOf(location.hash));
  constructor() {
    addEventListener('hashchange', () => (this.place = placeOf(location.hash)));
  }
}

export const router = new Router();
