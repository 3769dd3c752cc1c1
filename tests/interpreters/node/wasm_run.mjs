// Runs a script in the 32-bit MicroPython: node wasm_run.mjs SCRIPT LIBRARY DATA
// SCRIPT finds its neighbours and the Python files under LIBRARY on its path, and the files of
// DATA in its working folder.
import './quick_table.mjs';
import { loadMicroPython } from '@micropython/micropython-webassembly-pyscript/micropython.mjs';
import fs from 'node:fs';
import path from 'node:path';

// This build collects its garbage between two calls from outside only: a script that counts what
// is left is called in parts.
const COLLECT = /^# Collected here\.\n/m;

const [script, library, data] = process.argv.slice(2);
const mp = await loadMicroPython({
  heapsize: 256 * 1024,
  stdout: (line) => console.log(line),
  linebuffer: true,
});

function copy(source, target, wanted) {
  if (!mp.FS.analyzePath(target).exists) mp.FS.mkdir(target);
  for (const entry of fs.readdirSync(source, { withFileTypes: true })) {
    const [from, to] = [path.join(source, entry.name), `${target}/${entry.name}`];
    if (entry.isDirectory()) copy(from, to, wanted);
    else if (wanted(entry.name)) mp.FS.writeFile(to, fs.readFileSync(from));
  }
}

copy(library, '/lib', (name) => /\.m?py$/.test(name));
copy(path.dirname(script), '/lib', (name) => name.endsWith('.py'));
copy(data, '/data', () => true);
mp.FS.chdir('/data');
try {
  for (const part of fs.readFileSync(script, 'utf8').split(COLLECT)) mp.runPython(part);
} catch (error) {
  console.error(String(error));
  process.exitCode = 1;
}
