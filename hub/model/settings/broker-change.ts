import { type Document, isMap, isSeq, parseDocument } from 'yaml';
import { Refused } from '../refusals/refused.ts';

/** What the hub itself changes of its broker in the configuration file, for a phone that comes in or goes. */
export type BrokerChange = {
  host?: string;
  /** A user with the file of the hash of the password. */
  add?: { name: string; passwordFile: string };
  remove?: string;
  /** Undefined leaves it as it is. */
  thisMachineWithoutPassword?: boolean;
};

/** The text of the configuration with the change in it; all comments stay. */
export function withBrokerChange(text: string, change: BrokerChange): string {
  const document = parseDocument(text, { keepSourceTokens: true });
  if (!isMap(document.get('broker', true))) document.set('broker', document.createNode({}));
  if (change.host !== undefined) document.setIn(['broker', 'host'], change.host);
  if (change.add !== undefined) addUser(document, change.add);
  if (change.remove !== undefined) removeUser(document, change.remove);
  if (change.thisMachineWithoutPassword === true) document.setIn(['broker', 'this_machine_without_password'], true);
  if (change.thisMachineWithoutPassword === false) document.deleteIn(['broker', 'this_machine_without_password']);
  return document.toString({ lineWidth: 0, flowCollectionPadding: /\{ \S/.test(text) });
}

function addUser(document: Document.Parsed, { name, passwordFile }: NonNullable<BrokerChange['add']>): void {
  const user = document.createNode({ name, role: 'phone', password_file: passwordFile });
  // One line for each, as the documents write them.
  user.flow = true;
  if (!isSeq(document.getIn(['broker', 'users']))) document.setIn(['broker', 'users'], document.createNode([]));
  document.addIn(['broker', 'users'], user);
}

function removeUser(document: Document.Parsed, name: string): void {
  const users = document.getIn(['broker', 'users']);
  const index = isSeq(users) ? users.items.findIndex((user) => isMap(user) && user.get('name') === name) : -1;
  if (!isSeq(users) || index < 0)
    throw new Refused('unknown_phone', `the file has no user "${name}" at the broker; it was changed meanwhile`);
  users.delete(index);
  if (users.items.length === 0) document.deleteIn(['broker', 'users']);
}
