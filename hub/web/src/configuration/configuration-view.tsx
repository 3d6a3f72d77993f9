import type { PlaceProps } from '../places.ts';

export default function ConfigurationView({ view }: PlaceProps) {
  return (
    <main class="page">
      <h2 tabIndex={-1} data-view-title>
        Configuration
      </h2>
      <p>Configuration of {view.site}</p>
    </main>
  );
}
