/* What the written scripts of the twin rest on: Python's manners first, then the few operations
   that each language does in its own way (builder/twin/primitives.py has the same by name). */

function py_len(value) {
  if (value.length === undefined) {
    throw new TypeError("no length");
  }
  return value.length;
}
function py_iter(value) {
  return typeof value === "string" || Array.isArray(value) ? value : Object.keys(value);
}
function py_list(value) {
  return Array.from(py_iter(value));
}
function py_true(value) {
  if (value !== null && typeof value === "object") {
    return (Array.isArray(value) ? value : Object.keys(value)).length > 0;
  }
  return Boolean(value);
}
function py_in(item, whole) {
  if (typeof whole === "string" || Array.isArray(whole)) {
    return whole.includes(item);
  }
  return has_key(whole, item);
}
function py_get(mapping, key, otherwise) {
  return has_key(mapping, key) ? mapping[key] : otherwise;
}
function py_mod(value, by) {
  const rest = value % by;
  return rest !== 0 && rest < 0 !== by < 0 ? rest + by : rest;
}
function py_range(start, end, step) {
  const numbers = [];
  const first = end === undefined ? 0 : start;
  const last = end === undefined ? start : end;
  const by = step === undefined ? 1 : step;
  for (let at = first; by > 0 ? at < last : at > last; at += by) {
    numbers.push(at);
  }
  return numbers;
}
function py_compare(one, two) {
  if (Array.isArray(one)) {
    for (let at = 0; at < Math.min(one.length, two.length); at += 1) {
      const order = py_compare(one[at], two[at]);
      if (order !== 0) {
        return order;
      }
    }
    return one.length - two.length;
  }
  return one < two ? -1 : one > two ? 1 : 0;
}
function py_sorted(values, key) {
  const read = key || ((value) => value);
  return py_list(values).sort((one, two) => py_compare(read(one), read(two)));
}
function py_sum(values) {
  return py_list(values).reduce((total, value) => total + value, 0);
}
function py_any(values) {
  return py_list(values).some(py_true);
}
function py_all(values) {
  return py_list(values).every(py_true);
}
function py_enumerate(values) {
  return py_list(values).map((value, at) => [at, value]);
}
function py_zip(one, two) {
  const others = py_list(two);
  return py_list(one).slice(0, others.length).map((value, at) => [value, others[at]]);
}

function fail(reason) {
  throw { failure: reason };
}
function read_failure(error) {
  if (error && typeof error.failure === "string") {
    return error.failure;
  }
  throw error;
}
const raw_exp = Math.exp;
const raw_log = Math.log;
const raw_sqrt = Math.sqrt;
const raw_atan = Math.atan;
const raw_power = Math.pow;
const read_float = Number;
const is_list = Array.isArray;
function is_text(value) {
  return typeof value === "string";
}
function has_key(mapping, key) {
  return Object.prototype.hasOwnProperty.call(mapping, key);
}
function is_number(value) {
  return typeof value === "number";
}
function product_exceeds(limit, factors) {
  const ten = BigInt(10);
  function read(number) {
    const parts = number.toExponential(13).replace(".", "").split("e");
    return { digits: BigInt(parts[0]), shift: Number(parts[1]) - 13 };
  }
  function grow(digits, places) {
    return places > 0 ? digits * ten ** BigInt(places) : digits;
  }
  const right = read(limit);
  const left = factors.map(read).reduce(
    (whole, part) => ({ digits: whole.digits * part.digits, shift: whole.shift + part.shift }),
    { digits: BigInt(1), shift: 0 }
  );
  const apart = left.shift - right.shift;
  return grow(left.digits, apart) > grow(right.digits, -apart);
}
