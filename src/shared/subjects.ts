/**
 * What the log server calls things. It sees these names, sizes and times, never what is in a message. Every right on
 * the server is a right to such a name (src/server/shared/rights.ts).
 */
export const STREAMS = {
  records: 'RECORDS',
  keys: 'KEYS',
  summaries: 'SUMMARIES',
  invitations: 'INVITATIONS',
  access: 'ACCESS',
  reads: 'READS',
} as const;

export const subjects = {
  /** A device's own events of a record. */
  lane: (recordId: string, lane: string) => `u.rec.${recordId}.${lane}`,
  /** Events of another lane that a device hands on because their own device did not. */
  carried: (recordId: string, carrier: string, lane: string) =>
    `u.rec.${recordId}.${carrier}.carried.${lane}`,
  record: (recordId: string) => `u.rec.${recordId}.>`,
  /** Who belongs to a record, and its key wrapped for each. */
  keysOf: (recordId: string, lane: string) => `u.key.${recordId}.${lane}`,
  keys: (recordId: string) => `u.key.${recordId}.>`,
  summary: (recordId: string) => `u.sum.${recordId}`,
  clock: (recordId: string, lane: string) => `u.clock.${recordId}.${lane}`,
  clocks: (recordId: string) => `u.clock.${recordId}.*`,
  /** `from`: who speaks. */
  joining: (recordId: string, invitationId: string, from: 'host' | 'guest') =>
    `u.join.${recordId}.${invitationId}.${from}`,
  ask: (recordId: string, lane: string, what: string) => `u.ask.${recordId}.${lane}.${what}`,
  departmentAsk: (personId: string, what: string) => `u.ask.department.${personId}.${what}`,
  hello: (conn: string) => `u.hello.${conn}`,
  invitation: (invitationId: string) => `u.inv.${invitationId}`,
  denied: (recordId: string, lane: string) => `u.acc.denied.${recordId}.${lane}`,
  closed: (recordId: string) => `u.acc.closed.${recordId}`,
  read: (recordId: string) => `u.reads.${recordId}`,
};

/** What the app says of itself when it connects; the server's gate refuses an older one with a sentence. */
export const WIRE_VERSION = 1;

/** Lane and whether it was carried, of a message's subject; null for any other subject. */
export function laneOfSubject(subject: string): { lane: string; by: string } | null {
  const [u, rec, , by, carried, lane] = subject.split('.');
  if (u !== 'u' || rec !== 'rec' || by === undefined) return null;
  if (carried === undefined) return { lane: by, by };
  return carried === 'carried' && lane !== undefined ? { lane, by } : null;
}

/** An id that may stand in a subject: no dots, no wildcards. */
export const isToken = (text: unknown): text is string =>
  typeof text === 'string' && /^[A-Za-z0-9_-]{1,64}$/.test(text);

/** How a device shows that a lane is its own: signed with the key that the lane is named after. */
export const proofText = (conn: string, recordId: string, lane: string): string =>
  `utterlog connects ${conn} ${recordId} ${lane}`;

/** Who wants to connect: told to the server as its connection token, JSON. `conn`: a random name of the connection. */
export type Credentials = { version: number; conn: string } & (
  | {
      as: 'record';
      recordId: string;
      lane: string;
      publicKey: string;
      proof: string;
      /** A person's pass, or what a joined device was given. */
      grant: string;
    }
  | { as: 'invitation'; code: string }
  | { as: 'department'; grant: string }
  | { as: 'sign-in'; code: string; verifier: string; redirectUri: string }
);

export type Role = 'records' | 'reads' | 'signs' | 'administers';
export const ROLES: readonly Role[] = ['records', 'reads', 'signs', 'administers'];

/** Served beside the app as shared.json, so that the app knows what there is to turn on. */
export interface DepartmentCard {
  format: 'utterlog-department';
  version: 1;
  name: string;
  /** Where the log answers, on the app's own origin. */
  path: string;
  /** The department's public keys, raw, base64url: P-256 for wrapping, Ed25519 for signing. */
  wrapKey: string;
  signKey: string;
  signIn?: { authorizationEndpoint: string; clientId: string; scope: string };
}
