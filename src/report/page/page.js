
'use strict';
(() => {
  const standing = JSON.parse(document.getElementById('standing').textContent);
  const units = standing.units;
  const at = (id) => document.getElementById(id);

  // Everything shown is put in as text: what a unit or a file says can do nothing here.
  const make = (tag, more = {}, ...inside) => {
    const made = document.createElement(tag);
    for (const [name, value] of Object.entries(more)) {
      if (name.startsWith('on')) made.addEventListener(name.slice(2), value);
      else if (value !== null && value !== undefined && value !== false) made.setAttribute(name, value === true ? '' : value);
    }
    made.append(...inside.flat().filter((one) => one !== null && one !== undefined));
    return made;
  };
  const draw = (tag, more = {}, ...inside) => {
    const made = document.createElementNS('http://www.w3.org/2000/svg', tag);
    for (const [name, value] of Object.entries(more)) made.setAttribute(name, value);
    made.append(...inside);
    return made;
  };
  const counted = (number, one, many = one + 's') => `${number.toLocaleString('en')} ${number === 1 ? one : many}`;
  const seconds = (ms) => {
    if (ms === 0) return 'none';
    if (ms < 60000) return `${(ms / 1000).toFixed(1)} s`;
    return `${Math.floor(ms / 60000)} min ${Math.round((ms % 60000) / 1000)} s`;
  };
  const time = (stamp) => stamp.slice(0, 16).replace('T', ' ') + ' UTC';

  // How units stand: a sign of its own shape for each.
  const stands = [
    { letter: 'a', word: 'agrees', many: 'agree', sign: [['circle', { cx: 8, cy: 8, r: 4 }]] },
    { letter: 'd', word: 'drifted', many: 'drifted', sign: [['path', { d: 'M8 1 15 8 8 15 1 8Z', class: 'full' }]] },
    { letter: 'w', word: 'wrong unit', many: 'wrong unit', sign: [['path', { d: 'M2 2H14V14H2ZM2 2 14 14' }]] },
    { letter: 'n', word: 'no answer', many: 'no answer', sign: [['path', { d: 'M3 3 13 13M13 3 3 13' }]] },
    { letter: '-', word: 'not audited', many: 'not audited', sign: [['path', { d: 'M3 8H13' }]] },
  ];
  const standOf = Object.fromEntries(stands.map((one) => [one.letter, one]));
  const rank = { w: 0, d: 1, n: 2, '-': 3, a: 4 };
  const sign = (letter) => draw('svg', { viewBox: '0 0 16 16', class: 'sign', 'aria-hidden': 'true' },
    ...standOf[letter].sign.map(([tag, more]) => draw(tag, more)));
  const severities = ['error', 'warning', 'notice'];
  const worst = (unit) => unit.f.reduce((most, one) => Math.min(most, severities.indexOf(standing.findings[one][0])), 3);

  // Nights: "a85d2" is 85 that agreed and then 2 that had drifted.
  const dayOf = (night) => new Date(Date.parse(standing.nights.first) + night * 86400000).toISOString().slice(0, 10);
  const runs = (text) => [...text.matchAll(/([adnw-])(\d+)/g)].map((one) => [one[1], Number(one[2])]);
  const heights = { a: [['ground', 14, 4]], d: [['full', 6, 16]], n: [['full', 6, 2], ['full', 20, 2]], w: [['full', 6, 5], ['full', 17, 5]], '-': [] };
  const stripWords = (unit) => {
    const sums = {};
    for (const [letter, number] of runs(unit.v)) sums[letter] = (sums[letter] || 0) + number;
    const words = stands.filter((one) => sums[one.letter]).map((one) => `${sums[one.letter]} ${one.letter === 'a' ? 'agreed' : one.word}`);
    if (unit.c.length) words.push(`changed by us on ${unit.c.length}`);
    return `${counted(standing.nights.count, 'night')}: ${words.join(', ')}`;
  };
  const stripOf = (text, changed, count, words, step = 3) => {
    const parts = { ground: '', full: '' };
    let x = 0;
    for (const [letter, number] of runs(text)) {
      for (const [part, y, height] of heights[letter]) {
        if (letter === 'a') parts[part] += `M${x} ${y}h${number * step}v${height}h${-number * step}z`;
        else for (let i = 0; i < number; ++i) parts[part] += `M${x + i * step} ${y}h${step - 1}v${height}h${1 - step}z`;
      }
      x += number * step;
    }
    for (const night of changed) parts.full += `M${night * step - 1} 0h${step + 2}l${-(step + 2) / 2} 5z`;
    const strip = draw('svg', { class: 'strip', viewBox: `-2 0 ${count * step + 4} 22`, width: count * step + 4, height: 22, role: 'img', preserveAspectRatio: 'none' });
    strip.setAttribute('aria-label', words);
    for (const [part, d] of Object.entries(parts)) if (d) strip.append(draw('path', { d, class: part }));
    return strip;
  };

  const table = (titles, rows) => make('table', {},
    make('thead', {}, make('tr', {}, titles.map((one) => make('th', { scope: 'col' }, one)))),
    make('tbody', {}, rows.map((cells) => make('tr', {}, cells.map((cell, i) => make('td', { 'data-title': i ? titles[i] : null }, cell))))));

  // What the list is narrowed to.
  const wanted = { text: '', stands: '', group: '', model: '', findings: '', only: null, why: '' };
  const order = { by: 'stands', down: false };
  const page = 100;
  const first = 25;
  const printed = 500;
  let shown = first;
  let listed = [];

  const columns = [
    { name: 'unit', of: (unit) => unit.n },
    { name: 'stands', of: (unit) => rank[unit.s] },
    { name: 'nights', of: (unit) => -runs(unit.v).reduce((sum, [letter, number]) => sum + (letter === 'a' || letter === '-' ? 0 : number), 0) },
    { name: 'differences', of: (unit) => -unit.d.length },
    { name: 'findings', of: (unit) => worst(unit) * 1000 - unit.f.length },
    { name: 'off air', of: (unit) => -offAir(unit) },
  ];
  const offAir = (unit) => unit.ch.reduce((sum, one) => sum + one[2], 0);
  const inOrder = new Intl.Collator('en', { numeric: true });
  const compare = (a, b) => (typeof a === 'number' ? a - b : inOrder.compare(a, b));

  const fits = (unit) => {
    if (wanted.only && !wanted.only.has(unit)) return false;
    if (wanted.stands && unit.s !== wanted.stands) return false;
    if (wanted.group && !unit.g.includes(Number(wanted.group))) return false;
    if (wanted.model && unit.m !== Number(wanted.model)) return false;
    if (wanted.findings && worst(unit) > Number(wanted.findings)) return false;
    if (!wanted.text) return true;
    const where = [unit.n, unit.a, unit.p, standing.models[unit.m], ...unit.g.map((one) => standing.groups[one])].join('\n').toLowerCase();
    return wanted.text.toLowerCase().split(/\s+/).every((word) => where.includes(word));
  };

  const nameButton = (unit) => make('button', { type: 'button', class: 'name', onclick: () => open(unit) }, unit.n);
  const narrowTo = (some, why) => {
    Object.assign(wanted, { text: '', stands: '', group: '', model: '', findings: '', only: new Set(some), why });
    showFilter();
    list();
    at('units').scrollIntoView();
    at('units').focus({ preventScroll: true });
  };
  const names = (some, why) => make('div', { class: 'names' }, some.slice(0, 8).map(nameButton),
    some.length > 8 ? make('button', { type: 'button', class: 'name', onclick: () => narrowTo(some, why) }, `and ${some.length - 8} more`) : null);

  const findingsWords = (unit) => severities
    .map((severity) => [severity, unit.f.filter((one) => standing.findings[one][0] === severity).length])
    .filter(([, number]) => number).map(([severity, number]) => counted(number, severity, severity === 'notice' ? 'notices' : severity + 's')).join(', ');

  const row = (unit) => make('tr', {},
    make('th', { scope: 'row' }, nameButton(unit), make('div', { class: 'aside' }, unit.p)),
    make('td', { 'data-title': 'stands' }, sign(unit.s), ' ', standOf[unit.s].word),
    make('td', { 'data-title': 'nights' }, stripOf(unit.v, unit.c, standing.nights.count, stripWords(unit))),
    make('td', { 'data-title': 'differences', class: 'number' }, unit.d.length ? String(unit.d.length) : ''),
    make('td', { 'data-title': 'findings' }, findingsWords(unit)),
    make('td', { 'data-title': 'off air', class: 'number' }, offAir(unit) ? seconds(offAir(unit)) : ''));

  const sortBy = (name, down) => {
    Object.assign(order, { by: name, down });
    list();
  };
  const heading = () => make('thead', {}, make('tr', {}, columns.map((column) => {
    const on = order.by === column.name;
    return make('th', { scope: 'col', class: column.name === 'differences' || column.name === 'off air' ? 'number' : null, 'aria-sort': on ? (order.down ? 'descending' : 'ascending') : null },
      make('button', { type: 'button', 'data-sort': column.name, onclick: () => sortBy(column.name, on && !order.down) }, column.name));
  })));

  const list = (all = false) => {
    const column = columns.find((one) => one.name === order.by);
    const way = order.down ? -1 : 1;
    const key = new Map(units.map((unit) => [unit, column.of(unit)]));
    listed = units.filter(fits).sort((a, b) => way * compare(key.get(a), key.get(b)) || inOrder.compare(a.n, b.n));
    const rows = all ? listed.slice(0, printed) : listed.slice(0, shown);
    const held = document.activeElement && document.activeElement.dataset ? document.activeElement.dataset.sort : null;
    at('list').replaceChildren(make('caption', { class: 'aside' }, `Units, by ${order.by}`), heading(), make('tbody', {}, rows.map(row)));
    if (held) at('list').querySelector(`[data-sort="${held}"]`).focus();
    at('found').textContent = `${listed.length === units.length ? 'all' : listed.length.toLocaleString('en') + ' of'} ${counted(units.length, 'unit')}${wanted.why ? ': ' + wanted.why : ''}`;
    const left = listed.length - rows.length;
    at('more').replaceChildren(...(left > 0 ? [make('p', {}, all ? `and ${left.toLocaleString('en')} more` : make('button', { type: 'button', onclick: () => { shown += page; list(); } }, left > page ? `show ${page} more of ${left.toLocaleString('en')}` : `show the other ${left}`))] : []));
    for (const button of at('counts').querySelectorAll('button')) button.setAttribute('aria-pressed', String(button.value === wanted.stands));
    at('filter-order').value = order.by;
    marks();
  };

  const select = (label, name, options) => make('label', {}, label,
    make('select', { id: 'filter-' + name, onchange: (event) => { wanted[name] = event.target.value; changed(); } },
      options.map(([value, text]) => make('option', { value, selected: wanted[name] === value }, text))));
  const changed = () => { wanted.only = null; wanted.why = ''; shown = first; list(); showClear(); };
  const showClear = () => { at('clear').hidden = !(wanted.text || wanted.stands || wanted.group || wanted.model || wanted.findings || wanted.only); };
  const showFilter = () => {
    at('filter').replaceChildren(
      make('label', {}, 'name, place, address, group', make('input', { id: 'filter-text', type: 'search', autocomplete: 'off', value: wanted.text, oninput: (event) => { wanted.text = event.target.value; changed(); } })),
      select('stands', 'stands', [['', 'any'], ...stands.map((one) => [one.letter, one.word])]),
      select('group', 'group', [['', 'any'], ...standing.groups.map((one, i) => [String(i), one])]),
      select('model', 'model', [['', 'any'], ...standing.models.map((one, i) => [String(i), one])]),
      select('findings', 'findings', [['', 'any'], ['0', 'with an error'], ['1', 'with a warning or worse'], ['2', 'with any finding']]),
      make('label', {}, 'in the order of', make('select', { id: 'filter-order', onchange: (event) => sortBy(event.target.value, false) },
        columns.map((one) => make('option', { value: one.name, selected: order.by === one.name }, one.name)))),
      make('button', { type: 'button', id: 'clear', onclick: () => { Object.assign(wanted, { text: '', stands: '', group: '', model: '', findings: '' }); showFilter(); changed(); at('filter-text').focus(); } }, 'all units'));
    showClear();
  };

  const counts = () => {
    const sums = stands.map((one) => [one, units.filter((unit) => unit.s === one.letter).length]).filter(([one, number]) => number || one.letter === 'a');
    at('counts').replaceChildren(...sums.map(([one, number]) => make('button', { type: 'button', value: one.letter, 'aria-pressed': 'false',
      onclick: () => { wanted.stands = wanted.stands === one.letter ? '' : one.letter; showFilter(); changed(); } },
    make('b', {}, number.toLocaleString('en')), sign(one.letter), make('span', {}, number === 1 ? one.word : one.many))));
    at('notes').replaceChildren(...standing.notes.map((text) => make('p', {}, text)));
  };

  // The map: plane enough for a district, north up. Units that would lie on each other are one mark with their number.
  const placed = units.filter((unit) => unit.x !== undefined);
  let view = null;
  const toPlane = () => {
    const middle = placed.reduce((sum, unit) => sum + unit.y, 0) / placed.length;
    const narrow = Math.max(Math.cos(middle * Math.PI / 180), 0.01);
    for (const unit of placed) { unit.east = unit.x * 111320 * narrow; unit.north = unit.y * 111320; }
  };
  const around = (some) => {
    const box = { west: Infinity, east: -Infinity, south: Infinity, north: -Infinity };
    for (const unit of some) {
      box.west = Math.min(box.west, unit.east);
      box.east = Math.max(box.east, unit.east);
      box.south = Math.min(box.south, unit.north);
      box.north = Math.max(box.north, unit.north);
    }
    return { east: (box.west + box.east) / 2, north: (box.south + box.north) / 2, wide: Math.max(box.east - box.west, 60), high: Math.max(box.north - box.south, 60) };
  };
  const look = (some) => {
    const map = at('map');
    const box = around(some);
    view = { east: box.east, north: box.north, metres: Math.max(box.wide / Math.max(map.clientWidth - 80, 80), box.high / Math.max(map.clientHeight - 90, 80)) };
    marks();
  };
  const bar = (metres) => {
    let length = 1;
    for (const step of [1, 2, 5, 10, 20, 50, 100, 200, 500, 1000, 2000, 5000, 10000, 20000, 50000, 100000, 200000]) if (step / metres <= 120) length = step;
    return make('div', { class: 'bar', 'aria-hidden': 'true', 'data-width': length / metres }, length >= 1000 ? `${length / 1000} km` : `${length} m`);
  };
  const apart = 26;
  // Marks stand so far apart that each can be hit; a unit that is nearer to one than that joins it.
  const clustered = (width, height) => {
    const wanted = new Set(listed);
    const cells = new Map();
    const all = [];
    for (const unit of placed) {
      if (!wanted.has(unit)) continue;
      const x = width / 2 + (unit.east - view.east) / view.metres;
      const y = height / 2 - (unit.north - view.north) / view.metres;
      if (x < 0 || y < 0 || x > width || y > height) continue;
      const column = Math.floor(x / apart);
      const line = Math.floor(y / apart);
      let near = null;
      for (let i = -1; i <= 1; ++i) {
        for (let k = -1; k <= 1; ++k) {
          for (const one of cells.get(`${column + i}:${line + k}`) || []) if (Math.hypot(one.x - x, one.y - y) < apart) near = near || one;
        }
      }
      if (near) { near.units.push(unit); continue; }
      const mark = { units: [unit], x, y };
      const cell = `${column}:${line}`;
      cells.set(cell, [...(cells.get(cell) || []), mark]);
      all.push(mark);
    }
    return all;
  };
  const marks = () => {
    const map = at('map');
    if (!view || !map.clientWidth) return;
    const buttons = clustered(map.clientWidth, map.clientHeight).map((cell, i) => {
      const some = cell.units;
      const letter = some.reduce((most, unit) => (rank[unit.s] < rank[most] ? unit.s : most), 'a');
      const off = some.filter((unit) => unit.s !== 'a').length;
      const words = some.length === 1 ? `${some[0].n}, ${standOf[letter].word}` : `${some.length} units here, ${off ? off + ' do not agree' : 'all agree'}`;
      const button = make('button', { type: 'button', class: some.length > 1 ? 'many' + (off ? ' off' : '') + (some.length > 99 ? ' wide' : '') : null, title: words, 'aria-label': words, tabindex: i ? '-1' : '0',
        onclick: () => into(some) }, some.length > 1 ? String(some.length) : sign(letter));
      button.style.left = `${cell.x}px`;
      button.style.top = `${cell.y}px`;
      return button;
    });
    const scale = bar(view.metres);
    scale.style.width = `${scale.dataset.width}px`;
    map.style.backgroundSize = `${scale.dataset.width}px ${scale.dataset.width}px`;
    map.replaceChildren(...buttons, scale, make('div', { class: 'north', 'aria-hidden': 'true' }, 'N', make('br'), '\u2191'));
  };
  const into = (some) => {
    if (some.length === 1) return open(some[0]);
    const box = around(some);
    if (view.metres < 0.2 || (box.wide <= 60 && box.high <= 60 && view.metres < 1)) return narrowTo(some, 'at one place');
    const before = view.metres;
    look(some);
    if (view.metres >= before) { view.metres = before / 2; marks(); }
    const first = at('map').querySelector('button');
    if (first) first.focus();
  };
  const zoom = (factor) => { view.metres *= factor; marks(); };
  const map = () => {
    const without = units.length - placed.length;
    at('map-words').textContent = placed.length ? `Drawn from surveyed positions, where there is none from the unit's own. A thick ring: some of these do not agree.${without ? ` ${counted(without, 'unit')} without a position.` : ''}` : 'No unit has a position.';
    if (!placed.length) { at('map').hidden = true; return; }
    toPlane();
    const tool = (text, label, act) => make('button', { type: 'button', 'aria-label': label, onclick: act }, text);
    at('map-tools').replaceChildren(tool('+', 'nearer', () => zoom(0.5)), tool('\u2212', 'further', () => zoom(2)), tool('whole', 'the whole map', () => look(placed)));
    const box = at('map');
    let held = null;
    box.addEventListener('pointerdown', (event) => { if (event.target === box) { held = { x: event.clientX, y: event.clientY, ...view }; box.setPointerCapture(event.pointerId); } });
    box.addEventListener('pointermove', (event) => {
      if (!held) return;
      view = { metres: held.metres, east: held.east - (event.clientX - held.x) * held.metres, north: held.north + (event.clientY - held.y) * held.metres };
      marks();
    });
    for (const end of ['pointerup', 'pointercancel']) box.addEventListener(end, () => { held = null; });
    box.addEventListener('keydown', (event) => {
      const ways = { ArrowRight: [1, 0], ArrowLeft: [-1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };
      const way = ways[event.key];
      if (!way || event.target === box) return;
      event.preventDefault();
      const from = [parseFloat(event.target.style.left), parseFloat(event.target.style.top)];
      let best = null;
      for (const button of box.querySelectorAll('button')) {
        const off = [parseFloat(button.style.left) - from[0], parseFloat(button.style.top) - from[1]];
        const along = off[0] * way[0] + off[1] * way[1];
        const aside = Math.abs(off[0] * way[1]) + Math.abs(off[1] * way[0]);
        if (along > 0 && aside <= along && (!best || along + aside < best.far)) best = { button, far: along + aside };
      }
      if (!best) return;
      for (const button of box.querySelectorAll('button')) button.tabIndex = -1;
      best.button.tabIndex = 0;
      best.button.focus();
    });
    new ResizeObserver(() => (view ? marks() : look(placed))).observe(box);
    look(placed);
  };

  // Sections over all units: what is the same is told once, with the units that it holds for.
  const holders = (part) => {
    const of = new Map();
    for (const unit of units) for (const one of unit[part]) { if (!of.has(one)) of.set(one, []); of.get(one).push(unit); }
    return [...of.entries()];
  };
  const fill = (id, none, rows, titles, most = 50) => {
    const place = at(id).lastElementChild;
    if (!rows.length) return place.replaceChildren(make('p', { class: 'none' }, none));
    const rest = rows.length - most;
    place.replaceChildren(table(titles, rows.slice(0, most).map((one) => one())), ...(rest > 0 ? [make('p', {}, make('button', { type: 'button', onclick: () => fill(id, none, rows, titles, most + 200) }, `show ${Math.min(rest, 200)} more of ${rest}`))] : []));
  };
  const lines = (items, which) => items.map((item) => make('div', {}, item[which]));
  const sections = () => {
    const differences = holders('d').sort((a, b) => b[1].length - a[1].length || a[0] - b[0]);
    fill('differences', 'None: each unit that was read is as its files ask.', differences.map(([one, some]) => () => {
      const [name, kind, items] = standing.differences[one];
      return [make('div', {}, name, kind === 'value' ? '' : ` (${kind})`), items.length > 1 || items[0] && items[0][0] !== name ? lines(items, 0) : '', lines(items, 1), lines(items, 2), names(some, name)];
    }), ['setting', 'column', 'as found', 'desired', 'units']);
    const findings = holders('f').sort((a, b) => severities.indexOf(standing.findings[a[0]][0]) - severities.indexOf(standing.findings[b[0]][0]) || b[1].length - a[1].length);
    fill('findings', 'None.', findings.map(([one, some]) => () => {
      const [severity, rule, text, source] = standing.findings[one];
      return [severity, [text, source ? make('div', { class: 'aside' }, source) : null], rule, names(some, text)];
    }), ['severity', 'finding', 'rule', 'units']);
    const ends = units.flatMap((unit) => unit.e.filter((one) => one[3]).map((one) => [unit, one])).sort((a, b) => compare(a[1][1], b[1][1]));
    fill('ends', 'Nothing that is known of.', ends.map(([unit, [what, when]]) => () => [time(when), what, nameButton(unit)]), ['ends', 'what', 'unit']);
    fill('off-air', 'No change in these nights.', standing.changes.map((one, i) => () => {
      const some = units.filter((unit) => unit.ch.some((part) => part[0] === i));
      return [one.number, time(one.begun), one.who, [one.kind, one.why ? make('div', { class: 'aside' }, one.why) : null], one.ended ? seconds(one.off_air_ms) : 'has not ended', one.longest_ms ? `${seconds(one.longest_ms)} (${one.longest})` : '', names(some, 'change ' + one.number)];
    }).reverse(), ['change', 'begun', 'who', 'what', 'off air, all units', 'longest', 'units']);
  };

  // One unit.
  const part = (title, inside) => [make('h3', {}, title), inside];
  const sheet = (unit) => {
    const facts = [['stands', [sign(unit.s), ' ', standOf[unit.s].word]], ['model', standing.models[unit.m]], ['address', unit.a], ['audited', unit.t ? time(unit.t) : 'never'], ['groups', unit.g.map((one) => standing.groups[one]).join(', ')], ['off air in all', seconds(offAir(unit))]];
    const nights = [];
    let night = 0;
    for (const [letter, number] of runs(unit.v)) {
      if (letter !== 'a') nights.push([number > 1 ? `${dayOf(night)} to ${dayOf(night + number - 1)}` : dayOf(night), standOf[letter].word]);
      night += number;
    }
    const rows = unit.d.flatMap((one) => {
      const [name, kind, items] = standing.differences[one];
      return items.map(([setting, found, desired]) => [name === setting ? name : `${name}: ${setting}`, kind, found, desired]);
    });
    return [
      make('h2', { id: 'sheet-title', tabindex: '-1', autofocus: true }, unit.n), make('p', {}, unit.p),
      make('dl', { class: 'block' }, facts.map(([title, text]) => make('div', {}, make('dt', {}, title), make('dd', {}, text)))),
      unit.w ? make('p', {}, unit.w) : null,
      ...(rows.length ? part('Differences', table(['setting', 'kind', 'as found', 'desired'], rows)) : []),
      ...(unit.k.length ? part('Cannot be brought into line', make('ul', {}, unit.k.map((one) => make('li', {}, one)))) : []),
      ...(unit.f.length ? part('Findings', table(['severity', 'finding', 'source'], unit.f.map((one) => [standing.findings[one][0], standing.findings[one][2], standing.findings[one][3]]))) : []),
      ...(unit.e.length ? part('What ends', table(['ends', 'what'], unit.e.map(([what, when, later]) => [time(when) + (later ? ' or later' : ''), what]))) : []),
      ...part('Nights', make('div', {}, stripOf(unit.v, unit.c, standing.nights.count, stripWords(unit), 4),
        nights.length ? table(['night', 'stood'], nights.reverse().slice(0, 60)) : make('p', {}, 'Agreed in each.'))),
      ...(unit.ch.length ? part('Changes', table(['change', 'begun', 'who', 'outcome', 'off air', 'why'], unit.ch.map(([one, outcome, off, what]) => {
        const change = standing.changes[one];
        return [change.number, time(change.begun), change.who, [outcome, what ? make('div', { class: 'aside' }, what) : null], seconds(off), change.why];
      }).reverse())) : []),
    ].filter((one) => one);
  };
  let from = null;
  const open = (unit) => {
    const box = at('sheet');
    if (!box.open) from = document.activeElement;
    const place = listed.indexOf(unit);
    const go = (step) => make('button', { type: 'button', disabled: place < 0 || !listed[place + step], onclick: () => open(listed[place + step]) }, step < 0 ? 'unit before' : 'next unit');
    box.querySelector('form').replaceChildren(make('span', { class: 'grow' }, go(-1), ' ', go(1)), make('button', { value: 'close' }, 'close'));
    at('sheet-body').replaceChildren(...sheet(unit));
    if (!box.open) box.showModal();
    box.scrollTop = 0;
    history.replaceState(null, '', '#unit=' + encodeURIComponent(unit.n));
  };
  at('sheet').addEventListener('close', () => {
    history.replaceState(null, '', location.pathname + location.search);
    if (from && from.isConnected) from.focus();
  });
  const asked = () => {
    const name = location.hash.startsWith('#unit=') ? decodeURIComponent(location.hash.slice(6)) : '';
    const unit = name && units.find((one) => one.n === name);
    if (unit) open(unit);
  };

  const legend = () => {
    at('legend').replaceChildren(make('span', {}, 'A night each, the newest on the right:'),
      ...[['a4', [], 'agreed'], ['d4', [], 'drifted'], ['n4', [], 'no answer'], ['w4', [], 'wrong unit'], ['-4', [], 'not audited (blank)'], ['a4', [2], 'changed by us']]
        .map(([text, changedOn, word]) => make('span', {}, stripOf(text, changedOn, 4, '', 4), word)));
    for (const strip of at('legend').querySelectorAll('svg')) { strip.removeAttribute('role'); strip.removeAttribute('aria-label'); strip.setAttribute('aria-hidden', 'true'); }
  };

  showFilter();
  counts();
  list();
  legend();
  map();
  sections();
  asked();
  window.addEventListener('hashchange', asked);
  let kept = null;
  window.addEventListener('beforeprint', () => {
    kept = view;
    at('map').classList.add('paper');
    if (placed.length) look(placed);
    list(true);
  });
  window.addEventListener('afterprint', () => {
    at('map').classList.remove('paper');
    view = kept;
    list();
  });
})();
