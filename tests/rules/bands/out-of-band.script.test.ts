import { expect, test } from 'vitest';
import { run, transitions } from './script.ts';

const bands = { temperature: { low: 25, high: 26.5, mostPerHour: 100 } };

test('water above its band for five minutes is not reported, or not when it has returned', () => {
  const ran = run({ bands, series: { temperature: '25.8*30 26.8*10 25.8*20' } });
  expect(transitions(ran)).toEqual([
    '35 raised temperature/out_of_band/high',
    '50 cleared temperature/out_of_band/high',
  ]);
});

test('a spike of one reading wakes the keeper', () => {
  const ran = run({ bands, series: { temperature: '25.8*30 30 25.8*30 12 25.8*30' } });
  expect(transitions(ran)).toEqual([]);
});

test('a value that returns only into the deadband clears the alarm', () => {
  const ran = run({ bands, series: { temperature: '25.8*5 26.8*10 26.45*60 26.3*15' } });
  expect(transitions(ran)).toEqual([
    '10 raised temperature/out_of_band/high',
    '85 cleared temperature/out_of_band/high',
  ]);
});

test('a dead probe clears its alarm', () => {
  const ran = run({ bands, series: { temperature: '25.8*30 26.8*10 .*600 25.8*20' } });
  expect(transitions(ran)).toEqual([
    '35 raised temperature/out_of_band/high',
    '45 raised temperature/silent_probe',
    '645 cleared temperature/silent_probe',
    '650 cleared temperature/out_of_band/high',
  ]);
});

test('a bad reading clears or raises an alarm about the water', () => {
  const ran = run({ bands, series: { temperature: '25.8*30 26.8*10 25.8?*5 x*5 26.8*5 25.8*11' } });
  expect(transitions(ran)).toEqual([
    '35 raised temperature/out_of_band/high',
    // Seven bad readings in a row make more than half of the last minutes bad.
    '46 raised temperature/impossible_value',
    '65 cleared temperature/out_of_band/high',
  ]);
});

test('a gap counts as time out of the band', () => {
  const ran = run({ bands, series: { temperature: '25.8*30 26.8*4 .*15 26.8*4 25.8*10' } });
  expect(transitions(ran).filter((line) => line.includes('out_of_band'))).toEqual([]);
});

test('a restart at any step changes what is told', () => {
  const series = { temperature: '25.8*30 26.8*10 .*60 24>26*90' };
  expect(run({ bands, series, isRestartedEachStep: true }).events).toEqual(run({ bands, series }).events);
});
