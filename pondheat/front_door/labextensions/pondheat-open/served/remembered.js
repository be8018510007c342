/* What a reader chose, kept in the browser; where a browser keeps nothing, for this tab only. */
const here = new Map();
export const kept = name => { try { return localStorage.getItem(`pondheat:${name}`); } catch { return here.get(name) ?? null; } };
export const keep = (name, value) => { try { localStorage.setItem(`pondheat:${name}`, value); } catch { here.set(name, value); } };
