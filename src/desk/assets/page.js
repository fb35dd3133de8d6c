// The page by its names: what stands where.

import { make } from './words.js';

export const $ = (id) => document.getElementById(id);

/** Writes a text where another one stands. */
export const put = (id, text) => {
  if ($(id).textContent !== text) $(id).textContent = text;
};

/** Writes a list where another one stands. */
export function putList(id, items) {
  const text = JSON.stringify(items || []);
  if ($(id).dataset.text === text) return;
  $(id).dataset.text = text;
  $(id).replaceChildren(...(items || []).map((i) => make('li', {}, i)));
}

/** Says something to those who listen instead of look; once, not while things move. */
export const tell = (text) => put('status', text.trim());
