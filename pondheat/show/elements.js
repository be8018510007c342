/* An element of a drawing, or of the page, with its attributes and what is in it. */

function made(node, attributes, children) {
  for (const [key, value] of Object.entries(attributes)) node.setAttribute(key, value);
  node.append(...children);
  return node;
}
const drawn = (name, attributes = {}, ...children) =>
  made(document.createElementNS("http://www.w3.org/2000/svg", name), attributes, children);
const element = (name, attributes = {}, ...children) => made(document.createElement(name), attributes, children);

