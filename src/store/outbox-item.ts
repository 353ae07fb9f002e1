export interface SendOutChoice {
  on: boolean;
  /** Base address of the FHIR R4 server, e.g. https://fhir.example/r4. */
  address: string;
  /** Bearer token (RFC 6750); empty where the server wants none. */
  token: string;
}

/**
 * What stood in the way. sign-in: the token (401, 403); wrong-place: nothing of FHIR there (404, 405, 410);
 * several: the server holds more than one such document (412); conflict: 409; not-taken: the document itself
 * (other 4xx); unconfirmed: an answer of success that names no document, and a search that finds none;
 * server: 5xx and "later"; no-answer: none came, or none that could be read.
 */
export type Trouble =
  'sign-in' | 'wrong-place' | 'several' | 'conflict' | 'not-taken' | 'unconfirmed' | 'server' | 'no-answer';

export type DeliveryState =
  /** `sentBefore`: an earlier try may have reached the server though no answer came. */
  | {
      kind: 'waiting';
      tries: number;
      nextAtMs: number;
      sentBefore: boolean;
      why?: Trouble;
      trouble?: string;
    }
  | { kind: 'accepted'; at: string; location: string; wasThere: boolean }
  /** Waits for a person; trying again is allowed at any time. */
  | { kind: 'refused'; at: string; why: Trouble; reason: string };

export interface OutboxItem {
  /** The document's own identifier, the same for the same state of the record: what makes sending twice harmless. */
  identifier: { system: string; value: string };
  recordId: string;
  reference: string;
  address: string;
  queuedAt: string;
  /** The FHIR document; dropped once it is accepted. */
  bundle: string;
  state: DeliveryState;
}
