// What was recorded, how it leaves the phone, and what is taken for granted and may be changed.
const Notes = (() => {
  'use strict';
  const {el, button, card, counted, length} = Parts;
  const {job, isMetric} = Record;

  function fileName() {
    const plain = job.title.toLowerCase().replace(/[^a-z0-9]+/g, '-').replace(/^-|-$/g, '') || 'job';
    return `${plain}-as-built.csv`;
  }

  function download() {
    const address = URL.createObjectURL(new Blob([Record.csv()], {type: 'text/csv'}));
    const link = el('a', {href: address, download: fileName()});
    document.body.append(link);
    link.click();
    link.remove();
    setTimeout(() => URL.revokeObjectURL(address), 60000);
  }

  function showText() {
    const box = el('textarea', {id: 'csv', readOnly: true, rows: 10, value: Record.csv()});
    Entry.tell('Copy this', [el('p', {}, 'Where the phone does not save the file: hold, select all, copy, and paste it into a message.'), box]);
    box.select();
  }

  function askClear() {
    Entry.confirm({
      title: 'Clear the record?',
      text: 'Every set-up, hub and check shot of this job goes from this phone, for good. Export first.',
      yes: 'Yes, clear it', no: 'No, keep it', action: Record.clear,
    });
  }

  const limits = [['bed', 'Tolerance on the bed'], ['elsewhere', 'Tolerance elsewhere'], ['check_shot', 'Check shot may be off'], ['rod', 'Length of the rod']];

  function limitRow([name, text]) {
    const ask = () => Entry.ask({title: text, hint: `In ${isMetric ? 'meters' : 'decimal feet'}. The plan and the code come first.`, kind: 'limit', take: (value) => Record.change((s) => { s.limits[name] = value; })});
    const value = Record.state.limits[name], usual = job.limits[name];
    return el('button.row', {type: 'button', onclick: ask}, el('span', {}, text, value !== usual && el('small', {}, `usual ${length(usual)}`)), el('span.mark', {}, `${length(value)} ${isMetric ? 'm' : 'ft'}`));
  }

  function counts() {
    const shots = Object.values(Record.state.shots).reduce((sum, stage) => sum + Object.keys(stage).length, 0);
    return `${counted(Record.state.setups.length, 'set-up')}, ${counted(Record.state.checks.length, 'check shot')}, ${counted(Object.keys(Record.state.hubs).length, 'hub')}, ${counted(shots, 'stage shot')}.`;
  }

  function render() {
    const others = Record.others();
    return [
      card('Record', el('p', {id: 'counts'}, counts()), el('p', {}, 'Kept in this phone only. Export it at the end of each day.'),
        button('Export CSV', download, 'main'), button('Show it as text', showText), button('Clear the record', askClear, 'danger')),
      others.length > 0 && Parts.told(`This phone also keeps ${others.length === 1 ? 'a record' : `${others.length} records`} made with another plan of this lot. The job has changed since: none of it is shown here. Open the page of that plan to export it.`, 'look'),
      card('Kept to', el('p', {}, 'Common practice, unless your plan asks for more. A least thickness has no minus tolerance.'), el('div.rows', {}, limits.map(limitRow))),
      Parts.caution(...['utilities', 'trench', 'tank', 'sewage', 'govern'].map((name) => job.cautions[name])),
      el('p.small', {}, `Job ${job.key}. three.js: MIT licence.`),
    ];
  }

  return {name: 'notes', label: 'Notes', render};
})();
