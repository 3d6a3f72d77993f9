/**
 * Fifteen characters for a passphrase that is the only factor, no rules of composition, no forced change, and a refusal
 * of what anybody would try first.
 *
 * @source NIST SP 800-63B-4, section 3.1.1.2; from memory
 */
const fewestCharacters = 15;
const mostCharacters = 256;

/** What is the same few signs over and over holds as little as those. */
const fewestDifferent = 5;

const everybodysFirst = ['passphrase', 'password', 'brinekeep', 'qwertyuiop', 'letmein', 'administrator', '1234567890'];

/** Why this passphrase is not taken, for the person who typed it; undefined for a good one. */
export function complaintAboutPassphrase(passphrase: string): string | undefined {
  const characters = [...passphrase.normalize('NFKC')];
  if (characters.length < fewestCharacters) {
    return `it has ${characters.length} characters and needs ${fewestCharacters}: four or five words that do not belong together`;
  }
  if (characters.length > mostCharacters) return `it has more than ${mostCharacters} characters`;
  if (new Set(characters).size < fewestDifferent) return 'it is the same few characters over and over';
  let rest = characters.join('').toLowerCase();
  for (const word of everybodysFirst) rest = rest.replaceAll(word, '');
  // A word of the list with a number behind it is tried by everybody; among other words it does no harm.
  if ([...rest].filter((sign) => /\p{L}/u.test(sign)).length < 4 && rest.length < fewestCharacters) {
    return 'it is among the first that anybody would try';
  }
  return undefined;
}
