// Import before MicroPython's module. Each of its calls that may raise goes through JavaScript,
// which asks the table of functions anew each time: a third of the whole time is spent there.
const { get, set, grow } = WebAssembly.Table.prototype;
const known = new WeakMap();

WebAssembly.Table.prototype.get = function (index) {
  let functions = known.get(this);
  if (!functions) known.set(this, (functions = []));
  return (functions[index] ??= get.call(this, index));
};
for (const [name, change] of Object.entries({ set, grow })) {
  WebAssembly.Table.prototype[name] = function (...values) {
    known.delete(this);
    return change.apply(this, values);
  };
}
