import type { Order } from '../room/foresight.ts';

/**
 * Shape beside word, told apart without colour: a dot between two bars is inside, a dot past a bar has left, an arrow to a
 * bar will leave, broken bars are in doubt, an empty ring is not heard.
 */
export function StateShape({ order }: { order: Order }) {
  return (
    <svg class={`shape shape-${order}`} viewBox="0 0 16 16" aria-hidden="true">
      {order === 'outside' && <path d="M2 6h12v2H2zM2 12h12v2H2z" />}
      {order === 'outside' && <circle cx="8" cy="2.6" r="2.4" />}
      {order === 'leaving' && <path d="M2 2h12v2H2zM7 14V9H4l4-4.5L12 9H9v5z" />}
      {(order === 'steady' || order === 'unsure') && <path d="M2 2h12v2H2zM2 12h12v2H2z" />}
      {order === 'steady' && <circle cx="8" cy="8" r="2.4" />}
      {order === 'unsure' && <path d="M8 5.2l2.8 2.8L8 10.8 5.2 8z" class="hollow" />}
      {order === 'doubtful' && <path d="M2 3h4v4H2zM10 3h4v4h-4zM2 9h4v4H2zM10 9h4v4h-4z" />}
      {order === 'unheard' && <circle cx="8" cy="8" r="5" class="hollow" />}
      {order === 'unbanded' && <circle cx="8" cy="8" r="2.4" />}
    </svg>
  );
}
