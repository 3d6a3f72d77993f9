import type { PlaceProps } from '../places.ts';

export default function ProbesView({ view }: PlaceProps) {
  return (
    <main class="page">
      <h2 tabIndex={-1} data-view-title>
        Probes
      </h2>
      <p>Probes of {view.site}</p>
    </main>
  );
}
