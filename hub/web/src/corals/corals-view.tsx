import type { PlaceProps } from '../places.ts';

export default function CoralsView({ view }: PlaceProps) {
  return (
    <main class="page">
      <h2 tabIndex={-1} data-view-title>
        Corals
      </h2>
      <p>Corals of {view.site}</p>
    </main>
  );
}
