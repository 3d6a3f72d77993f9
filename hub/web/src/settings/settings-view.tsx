import type { PlaceProps } from '../places.ts';

export default function SettingsView({ view }: PlaceProps) {
  return (
    <main class="page">
      <h2 tabIndex={-1} data-view-title>
        Settings
      </h2>
      <p>Settings of {view.site}</p>
    </main>
  );
}
