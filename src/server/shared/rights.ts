import { STREAMS, subjects } from '../../shared/subjects.ts';

/** What a connection may publish and subscribe to: the server enforces it (NATS permissions). */
export interface Rights {
  publish: string[];
  subscribe: string[];
  /** May answer what it is asked, once each. */
  answers: boolean;
}

/** Reading a stream: a consumer that is named after the connection and bound to one subject. */
const follow = (stream: string, conn: string, filter: string): string[] => [
  `$JS.API.CONSUMER.CREATE.${stream}.${conn}.${filter}`,
  `$JS.API.CONSUMER.DELETE.${stream}.${conn}`,
  `$JS.API.CONSUMER.MSG.NEXT.${stream}.${conn}`,
];

const answers = (conn: string) => `_INBOX.${conn}.>`;

/** Every connection may ask how it was let in. Who was refused may do that only, and reads why. */
export const helloRights = (conn: string): Rights => ({
  publish: [subjects.hello(conn)],
  subscribe: [answers(conn)],
  answers: false,
});

/** Rights with the question of how one was let in. */
export const withHello = (conn: string, rights: Rights): Rights => ({
  ...rights,
  publish: [...rights.publish, subjects.hello(conn)],
});

/** One device in one record. `hosts`: invites, admits, sends away and turns keys over. */
export function recordRights(options: {
  conn: string;
  recordId: string;
  lane: string;
  writes: boolean;
  hosts: boolean;
}): Rights {
  const { conn, recordId, lane, writes, hosts } = options;
  const own = subjects.lane(recordId, lane);
  return {
    publish: [
      ...(writes ? [own, `${own}.carried.*`] : []),
      ...(hosts
        ? [
            subjects.keysOf(recordId, lane),
            subjects.summary(recordId),
            subjects.joining(recordId, '*', 'host'),
            subjects.ask(recordId, lane, '*'),
          ]
        : [subjects.ask(recordId, lane, 'leave')]),
      subjects.clocks(recordId),
      ...follow(STREAMS.records, conn, subjects.record(recordId)),
      ...follow(STREAMS.keys, conn, subjects.keys(recordId)),
    ],
    subscribe: [
      answers(conn),
      subjects.record(recordId),
      subjects.keys(recordId),
      subjects.clock(recordId, lane),
      ...(hosts ? [subjects.joining(recordId, '*', 'guest')] : []),
    ],
    answers: true,
  };
}

/** Who holds a one-use invitation: may speak with the record's host about joining, and nothing else. */
export const guestRights = (conn: string, invitationId: string): Rights => ({
  publish: [subjects.joining('*', invitationId, 'guest')],
  subscribe: [subjects.joining('*', invitationId, 'host'), answers(conn)],
  answers: false,
});

/** The department's desk: the list of summaries, and what the gate itself answers. */
export const departmentRights = (conn: string, personId: string, reads: boolean): Rights => ({
  publish: [
    subjects.departmentAsk(personId, '*'),
    ...(reads ? follow(STREAMS.summaries, conn, 'u.sum.>') : []),
  ],
  subscribe: [answers(conn), ...(reads ? ['u.sum.*'] : [])],
  answers: false,
});
