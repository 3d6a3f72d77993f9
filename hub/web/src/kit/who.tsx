import { recall, remember } from './remembered.ts';

const memory = 'who';

/** Who uses this device, as the journal shall have it. */
export function whoHere(): string {
  return recall(memory) ?? 'page';
}

/** Asks for a name and keeps it on this device. */
export function WhoField({ id }: { id: string }) {
  return (
    <label for={id}>
      Your name
      <input
        id={id}
        autocomplete="off"
        maxLength={60}
        defaultValue={recall(memory) ?? ''}
        onInput={(event) => {
          const name = event.currentTarget.value.trim();
          remember(memory, name === '' ? 'page' : name);
        }}
      />
    </label>
  );
}
