import { causeWords } from './losses.tsx';

/** What is seen on a piece that is not well, as choices name it. */
export const signWords = {
  tissue_loss_fast: 'tissue peeling within hours',
  tissue_loss_slow: 'tissue receding over days',
  bleached: 'pale or bleached',
  bite_marks: 'bite marks, eggs or pests',
  not_opening: 'not opening',
} as const;

/** What happened to a piece, as a person says it. */
export function pieceEventText(event: string, more: Readonly<Record<string, unknown>>): string {
  const note = typeof more['note'] === 'string' ? more['note'] : '';
  const said = (text: string) => (note === '' ? text : `${text}; ${note}`);
  switch (event) {
    case 'added':
      return said(more['place'] === undefined ? 'arrived' : `arrived, to ${more['place']}`);
    case 'moved':
      return said(`moved to ${more['place']}`);
    case 'growth':
      return said(more['longest_cm'] === undefined ? 'grew' : `grew to ${more['longest_cm']} cm`);
    case 'fragged':
      return said(`cut into ${more['frags']} frags`);
    case 'ill':
      return said(`not well: ${signWords[more['sign'] as keyof typeof signWords] ?? more['sign']}`);
    case 'well':
      return said('well again');
    case 'lost':
      return said(`lost: ${causeWords[more['cause'] as keyof typeof causeWords] ?? more['cause']}`);
    case 'photo':
      return 'photo';
    case 'photo_deleted':
      return 'photo deleted';
    default:
      return said(event);
  }
}
