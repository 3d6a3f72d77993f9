import { render } from 'preact';
import { App } from './app.tsx';
import { followRoom } from './room-state.ts';
import { followAddress } from './route.ts';
import './style/tokens.css';
import './style/frame.css';
import './style/rows.css';
import './style/tiles.css';
import './style/parts.css';
import './style/metric.css';
import './style/more.css';
import { followUnsent } from './unsent.ts';

const place = document.getElementById('app');
if (place === null) throw new Error('the page has no #app');
followAddress();
followRoom();
followUnsent();
render(<App />, place);
