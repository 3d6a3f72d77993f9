import { connect } from '#adapters/sqlite/connection.ts';
import { task } from './child.ts';

/**
 * Gives the log of a store the length that it has after its first hours, and ends as in a power cut, so that it stays. Pages
 * that are taken back leave the file system's blocks behind and nothing in the store.
 */
const { path, bytes } = task<{ path: string; bytes: number }>();
const db = connect(path);
db.pragma('cache_size = 20');
db.exec('BEGIN; CREATE TABLE taken_back (filler BLOB)');
db.prepare('INSERT INTO taken_back VALUES (zeroblob(?))').run(bytes);
db.exec('ROLLBACK');
process.kill(process.pid, 'SIGKILL');
