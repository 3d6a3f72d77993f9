import { render } from 'preact';
import { App } from './app.tsx';
import { followRoom } from './room-state.ts';
import './style.css';

const place = document.getElementById('app');
if (place === null) throw new Error('the page has no #app');
followRoom();
render(<App />, place);
