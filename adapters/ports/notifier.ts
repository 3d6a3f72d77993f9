/** Something that people are to be told, before any way to them has given it a form. Receivers know a repeat by its key. */
export type Notice =
  /** One short line, to the keeper's phone or to the second person who is called when nobody answers. */
  | { is: 'line'; key: string; to: 'phone' | 'escalated'; line: string }
  /** How an alarm stands now: JSON text (`alarmPayload`). It takes the place of what was said of that alarm before. */
  | { is: 'alarm'; key: string; alarm: string; state: string }
  /** The result of the last whole week: JSON text (`weekPayload`). It takes the place of the week before. */
  | { is: 'week'; key: string; summary: string };

/** What became of one item. */
export type Sent =
  /** It is theirs now. */
  | { is: 'acknowledged' }
  /** Nobody is there; nothing is wrong with the item. */
  | { is: 'away'; why: string }
  /** The way broke while the item was on it, perhaps because of it. */
  | { is: 'broke'; why: string }
  /** This item is not taken; others may be. */
  | { is: 'refused'; why: string }
  /** No item of this kind of way: it can never be sent. */
  | { is: 'unreadable' };

/**
 * A way to people: a folder in `adapters/notify`, and a line in the composition root.
 *
 * Must: give a notice the form in which it waits on disk, the same at every call; say `acknowledged` only when the other side has
 * taken the item; settle every `send` by itself or after `reconnect`.
 * Need not: keep, order, repeat or time anything; the delivery before it does.
 */
export type Notifier = {
  /** Its name in the outbox and on the health page. */
  readonly destination: string;
  /** The notice as it waits in the outbox; undefined where this way has no place for it. */
  itemOf(notice: Notice): string | undefined;
  /** What an item takes the place of: of two with the same name the older must not follow the newer. Undefined: it stands alone. */
  placeOf(item: string): string | undefined;
  isUp(): boolean;
  send(item: string): Promise<Sent>;
  /** The other side answers no more: give up the connection and make another. */
  reconnect(why: string): void;
};
