import { useState } from 'preact/hooks';
import type { PieceAnswer } from '../../../api/pieces.ts';
import { sendFile } from '../kit/ask.ts';
import { send } from './hub-ask.ts';

const longestSide_px = 1600;
const mostBytes = 4 * 1024 * 1024;

/** A phone's photo is larger than the hub keeps: it is drawn again, smaller, as JPEG. What is small enough goes as it is. */
async function fitting(file: File): Promise<File> {
  if (file.size <= mostBytes / 4) return file;
  const image = await createImageBitmap(file);
  const scale = Math.min(1, longestSide_px / Math.max(image.width, image.height));
  const canvas = document.createElement('canvas');
  canvas.width = Math.round(image.width * scale);
  canvas.height = Math.round(image.height * scale);
  canvas.getContext('2d')?.drawImage(image, 0, 0, canvas.width, canvas.height);
  const blob = await new Promise<Blob | null>((resolve) => canvas.toBlob(resolve, 'image/jpeg', 0.85));
  return blob === null ? file : new File([blob], 'photo.jpg', { type: 'image/jpeg' });
}

/** The photos of a piece: added, looked at, deleted. */
export function Photos({ piece, again }: { piece: PieceAnswer; again(): void }) {
  const [trouble, setTrouble] = useState('');
  const [isSending, setSending] = useState(false);
  const [isDeleting, setDeleting] = useState('');

  async function keep(file: File | undefined): Promise<void> {
    if (file === undefined) return;
    setTrouble('');
    setSending(true);
    const photo = await fitting(file).catch(() => file);
    const answer = await sendFile('POST /api/pieces/:id/photos', { params: { id: piece.id } }, photo);
    setSending(false);
    if (answer.ok) again();
    else
      setTrouble(
        answer.problem.status === 0
          ? 'The hub does not answer. The photo stays in your camera; choose it again when the hub is back.'
          : answer.problem.detail,
      );
  }

  async function remove(name: string): Promise<void> {
    setTrouble('');
    const answer = await send('DELETE /api/photos/:name', { params: { name } });
    setDeleting('');
    if (answer.ok) again();
    else setTrouble(answer.problem.detail);
  }

  return (
    <section class="part" aria-labelledby="photos">
      <h3 id="photos">Photos</h3>
      {piece.photos.length > 0 && (
        <ul class="photos">
          {piece.photos.map((name, place) => (
            <li key={name}>
              <a href={`./api/photos/${name}`}>
                <img
                  src={`./api/photos/${name}`}
                  alt={`${piece.kind} ${piece.id}, ${place + 1} of ${piece.photos.length}`}
                  loading="lazy"
                />
              </a>
              {isDeleting === name ? (
                <span class="photo-deleted">
                  <button type="button" onClick={() => void remove(name)}>
                    Delete for good
                  </button>
                  <button type="button" onClick={() => setDeleting('')}>
                    Keep
                  </button>
                </span>
              ) : (
                <button type="button" aria-label={`Delete photo ${place + 1}`} onClick={() => setDeleting(name)}>
                  Delete
                </button>
              )}
            </li>
          ))}
        </ul>
      )}
      <div class="photo-taken">
        <input
          class="visually-hidden"
          id={`photo-${piece.id}`}
          type="file"
          accept="image/jpeg,image/png,image/webp"
          aria-invalid={trouble !== ''}
          onChange={(event) => {
            const field = event.currentTarget;
            void keep(field.files?.[0]).then(() => {
              field.value = '';
            });
          }}
        />
        <label for={`photo-${piece.id}`}>{isSending ? 'Sending …' : 'Add a photo'}</label>
        {trouble !== '' && (
          <p class="asked-error" role="alert">
            {trouble}
          </p>
        )}
      </div>
    </section>
  );
}
