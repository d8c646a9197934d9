#include "report/acceptance_style.h"

namespace vergeset::report {

std::string_view acceptance_style() {
  return R"css(
:root { color-scheme: light dark; --ink: #111; --soft: #555; --ground: #fff; --rule: #bbb; }
* { box-sizing: border-box; }
body { margin: 0; color: var(--ink); background: var(--ground); overflow-wrap: anywhere;
  font: 1rem/1.45 system-ui, "Helvetica Neue", Arial, "DejaVu Sans", sans-serif; }
header { display: flex; justify-content: space-between; align-items: baseline; gap: 1em; }
h1, h2 { font-family: Georgia, "Times New Roman", "DejaVu Serif", serif; }
h1, h2, p { margin: 0; }
.verdict { border: 1px solid var(--ink); font-weight: 600; }
table { width: 100%; table-layout: fixed; border-collapse: separate; border-spacing: 0; }
th, td { text-align: left; vertical-align: top; font-weight: normal; unicode-bidi: isolate; }
th { color: var(--soft); font-style: italic; }
td { border-bottom: 1px solid var(--rule); }
.named td:first-child { color: var(--soft); }
.sign td:not(:first-child) { border-bottom-color: var(--ink); }
@media screen {
  main { max-width: 62rem; margin: 0 auto; padding: 1rem; }
  .paper { display: none; }
  h1 { font-size: 1.6rem; }
  h2 { font-size: 1.15rem; margin-top: 1.6rem; }
  .verdict { margin: .8rem 0; padding: .5rem .7rem; }
  th, td { padding: .25rem .8rem .25rem 0; }
  table, .below { font-size: .875rem; }
  .below { padding: .4rem 0; }
  .across { display: grid; grid-template-columns: repeat(var(--across), minmax(0, 1fr)); gap: 0 1.5rem;
    align-items: start; }
  .sign td { padding-top: 1.6rem; }
}
@media screen and (prefers-color-scheme: dark) {
  :root { --ink: #e8e8e8; --soft: #a8a8a8; --ground: #141414; --rule: #444; }
}
@media screen and (max-width: 56rem) {
  .across { grid-template-columns: minmax(0, 1fr); }
  .titled table + table thead { display: none; }
}
@media screen and (max-width: 40rem) {
  h1 { font-size: 1.3rem; }
  .titled thead { display: none; }
  .titled table, .titled tbody, .titled tr, .titled td { display: block; }
  .titled tr { padding: .4rem 0; border-bottom: 1px solid var(--rule); }
  .titled td { padding: 0; border: 0; }
  .titled td:empty { display: none; }
  .titled td:first-child { font-weight: 600; }
  .titled td[data-title]:not(:first-child)::before { content: attr(data-title) ": "; color: var(--soft); }
  .titled td > div { display: inline; }
  .sign td:not(:first-child):empty { display: block; margin-top: 1.4rem; border-bottom: 1px solid var(--ink); }
}
@media screen and (min-width: 100rem) {
  main { max-width: none; display: grid; grid-template-columns: repeat(2, minmax(0, 58rem));
    justify-content: center; gap: 0 4rem; padding: 2rem; }
}
@page { margin: 11mm 12mm; }
@media print {
  :root { color-scheme: light; --ink: #000; --soft: #000; --ground: #fff; --rule: #888; }
  .side { break-inside: avoid; }
  .side + .side { break-before: page; }
  .roomy { font-size: 9pt; line-height: 11.5pt; }
  .close { font-size: 7.6pt; line-height: 9.2pt; }
  header { height: 24pt; overflow: hidden; font-size: 9pt; line-height: 20pt; white-space: nowrap; }
  h1 { font-size: 15pt; line-height: 20pt; overflow: hidden; text-overflow: ellipsis; }
  h2 { margin: 6pt 0 1pt; height: 12pt; overflow: hidden; font-size: 9.5pt; line-height: 12pt;
    white-space: nowrap; text-overflow: ellipsis; }
  .verdict { margin: 0 1pt 4pt 0; padding: 3pt 6pt; font-size: 9.5pt; line-height: 12pt; }
  .across { display: grid; grid-template-columns: repeat(var(--across), minmax(0, 1fr)); gap: 0 14pt;
    align-items: start; }
  th, td, .below, .more { padding: 1pt 6pt 1pt 0; }
  .close :is(th, td, .below, .more) { padding-top: .6pt; padding-bottom: .6pt; }
  td { border-bottom: .5pt solid var(--rule); }
  th { white-space: nowrap; overflow: hidden; }
  .across.beyond { display: none; }
  .more { font-style: italic; }
  .fit { display: -webkit-box; -webkit-box-orient: vertical; overflow: hidden; }
  .n1 .fit { display: block; white-space: nowrap; text-overflow: ellipsis; }
  .n2 .fit { -webkit-line-clamp: 2; }
  .n3 .fit { -webkit-line-clamp: 3; }
  .n4 .fit { -webkit-line-clamp: 4; }
  .sign td { height: 23pt; vertical-align: bottom; }
}
)css";
}

}  // namespace vergeset::report
