#!/usr/bin/env python3
"""Time to proof of `kitgap order --from` against plain CBC and GLPK on the same instances in the same run.

    tests/bench/purchase/peers.py BIN/kitgap [--cap SECONDS] [--large] [FILE.json ...]

The instances are made here, from fixed seeds: set covering, facility location, cutting patterns, pack sizes that no
combination gives exactly, free shipping. Files in the form of `order --from` can be added. Each instance is also written
as a plain integer programme (one row per need, one per offer and supplier with a charge, one per threshold) and handed to
`cbc` and `glpsol`. A peer that stops early or whose value differs is named: a wrong answer has no ratio.
"""
import argparse
import json
import math
import os
import random
import subprocess
import tempfile
import time


def covering(seed, needs, kits, share):
    pick = random.Random(seed)
    contents = [{pick.randrange(needs)} for _ in range(kits)]
    for need in range(needs):
        for kit in pick.sample(range(kits), 2):
            contents[kit].add(need)
    while sum(map(len, contents)) < needs * kits * share:
        contents[pick.randrange(kits)].add(pick.randrange(needs))
    offers = [offer("s1", f"k{k}", pick.randint(1, 100), {f"r{n}": 1 for n in sorted(c)}) for k, c in enumerate(contents)]
    return problem({f"r{n}": 1 for n in range(needs)}, [supplier("s1", 0)], offers)


def facilities(seed, suppliers, needs, charge):
    pick = random.Random(seed)
    place = lambda: (pick.uniform(0, 100), pick.uniform(0, 100))
    homes, weights = [place() for _ in range(needs)], [pick.uniform(10, 100) for _ in range(needs)]
    offers, sellers = [], []
    for s in range(suppliers):
        here = place()
        sellers.append(supplier(f"s{s}", round(charge * pick.uniform(0.8, 1.2), 2)))
        for n in range(needs):
            price = round(math.dist(here, homes[n]) * weights[n] * 10 * pick.uniform(1, 1.25), 4)
            offers.append(offer(f"s{s}", f"p{n}", price, {f"i{n}": 1}))
    return problem({f"i{n}": 1 for n in range(needs)}, sellers, offers)


def patterns(seed, length, widths):
    pick = random.Random(seed)
    sizes = sorted(pick.sample(range(length // 6, length // 2), widths), reverse=True)
    found = []

    def fill(at, left, made):
        if at == len(sizes):
            if left < sizes[-1]:
                found.append(dict(made))
            return
        for count in range(left // sizes[at], -1, -1):
            fill(at + 1, left - count * sizes[at], made + ([(f"w{sizes[at]}", count)] if count else []))

    fill(0, length, [])
    offers = [offer("s1", f"p{k}", 1, made) for k, made in enumerate(found)]
    return problem({f"w{s}": pick.randint(10, 40) for s in sizes}, [supplier("s1", 0)], offers)


def pack_sizes(sizes):
    """One unit of money per piece; the quantity is the largest that no combination gives (Dijkstra over remainders)."""
    least, best = min(sizes), {0: 0}
    queue = [0]
    while queue:
        queue.sort()
        at = queue.pop(0)
        for size in sizes:
            other = at + size
            if other < best.get(other % least, math.inf):
                best[other % least] = other
                queue.append(other)
    wanted = max(best.values()) - least
    return problem({"piece": wanted}, [supplier("s1", 0)], [offer("s1", f"pack{s}", s, {"piece": s}) for s in sizes])


def thresholds(seed, suppliers, needs):
    pick = random.Random(seed)
    sellers = [supplier(f"s{s}", pick.randint(20, 50) * 10, pick.randint(2, 12) * 500) for s in range(suppliers)]
    base = [pick.randint(300, 3000) for _ in range(needs)]
    offers = [offer(f"s{s}", f"p{n}", round(base[n] * pick.uniform(0.85, 1.25)), {f"i{n}": 1})
              for s in range(suppliers) for n in range(needs) if pick.random() < 0.6 or s == 0]
    return problem({f"i{n}": 1 for n in range(needs)}, sellers, offers)


def supplier(name, charge, free_from=None):
    return {"name": name, "shipping_charge": charge, "free_shipping_from": free_from}


def offer(of, number, price, contents):
    return {"supplier": of, "part_number": number, "price": price,
            "contents": [{"item": item, "quantity": quantity} for item, quantity in contents.items()]}


def problem(needs, suppliers, offers):
    return {"needs": [{"item": i, "quantity": q} for i, q in needs.items()], "suppliers": suppliers, "offers": offers}


def linear_programme(data):
    """The plain model in the LP format that both peers read."""
    cost, rows, whole, binary = [], [], [], []
    need = {n["item"]: n["quantity"] for n in data["needs"]}
    brings = {item: [] for item in need}
    most = []
    for j, of in enumerate(data["offers"]):
        cost.append(f"{of['price']} x{j}")
        whole.append(f"x{j}")
        threshold = max((s.get("free_shipping_from") or 0) for s in data["suppliers"] if s["name"] == of["supplier"])
        most.append(1)
        for content in of["contents"]:
            if content["item"] in need:
                brings[content["item"]].append(f"{content['quantity']} x{j}")
                most[j] = max(most[j], math.ceil(need[content["item"]] / content["quantity"]))
        if threshold and of["price"] > 0:
            most[j] = max(most[j], math.ceil(threshold / of["price"]))
    for item, terms in brings.items():
        rows.append(" + ".join(terms) + f" >= {need[item]}")
    for s, seller in enumerate(data["suppliers"]):
        charge = seller.get("shipping_charge") or 0
        if charge == 0:
            continue
        own = [j for j, of in enumerate(data["offers"]) if of["supplier"] == seller["name"]]
        cost.append(f"{charge} y{s}")
        binary.append(f"y{s}")
        rows += [f"x{j} - {most[j]} y{s} <= 0" for j in own]
        if seller.get("free_shipping_from") is not None:
            cost.append(f"- {charge} z{s}")
            binary.append(f"z{s}")
            goods = " + ".join(f"{data['offers'][j]['price']} x{j}" for j in own)
            rows += [f"{goods} - {seller['free_shipping_from']} z{s} >= 0", f"y{s} - z{s} >= 0"]
    wrap = lambda words, by: ("\n " + by).join(words)
    text = "Minimize\n obj: " + wrap(cost, "+ ").replace("+ -", "-") + "\nSubject To\n"
    text += "".join(f" r{k}: {row.replace(' + ', chr(10) + '  + ')}\n" for k, row in enumerate(rows))
    text += "Bounds\n" + "".join(f" 0 <= x{j} <= {most[j]}\n" for j in range(len(most)))
    return text + "Generals\n " + "\n ".join(whole) + ("\nBinaries\n " + "\n ".join(binary) if binary else "") + "\nEnd\n"


def timed(command, cap):
    start = time.monotonic()
    try:
        out = subprocess.run(command, capture_output=True, text=True, timeout=cap + 20).stdout
    except subprocess.TimeoutExpired:
        out = ""
    return time.monotonic() - start, out


def run_kitgap(binary, path, cap):
    seconds, out = timed([binary, "order", "--from", path, "--format", "json", "--time-limit", str(cap)], cap)
    answer = json.loads(out) if out else {"status": "failed", "total": math.nan}
    return seconds, float(answer["total"]), answer["status"] == "optimal"


def run_cbc(path, cap):
    seconds, out = timed(["cbc", path, "sec", str(cap), "threads", "1", "solve", "quit"], cap)
    value = [float(line.split()[-1]) for line in out.splitlines() if line.startswith("Objective value:")]
    return seconds, value[-1] if value else math.nan, "Optimal solution found" in out


def run_glpk(path, cap):
    with tempfile.NamedTemporaryFile(suffix=".sol") as solution:
        seconds, out = timed(["glpsol", "--lp", path, "--tmlim", str(cap), "-o", solution.name], cap)
        text = open(solution.name).read()
    value = [float(line.split("=")[1].split()[0]) for line in text.splitlines() if line.startswith("Objective:")]
    return seconds, value[-1] if value else math.nan, "INTEGER OPTIMAL" in text


def main():
    options = argparse.ArgumentParser()
    options.add_argument("kitgap")
    options.add_argument("files", nargs="*")
    options.add_argument("--cap", type=int, default=60)
    options.add_argument("--large", action="store_true", help="also 100 suppliers x 1,000 needs")
    chosen = options.parse_args()
    cases = {"covering 200x1000": covering(1, 200, 1000, 0.02), "facilities 25x50": facilities(2, 25, 50, 40000),
             "facilities 50x200": facilities(3, 50, 200, 60000), "patterns 9": patterns(4, 5600, 9),
             "packs": pack_sizes([1223, 1224, 3674, 6119, 8569]), "thresholds 20x25": thresholds(5, 20, 25)}
    if chosen.large:
        cases["facilities 100x1000"] = facilities(6, 100, 1000, 250000)
    for path in chosen.files:
        cases[os.path.basename(path)] = json.load(open(path))
    print(f"{'instance':<22}{'kitgap s':>10}{'cbc s':>10}{'glpk s':>10}{'cbc/kitgap':>12}{'glpk/kitgap':>13}")
    for name, data in cases.items():
        with tempfile.TemporaryDirectory() as folder:
            problem_file, programme = os.path.join(folder, "p.json"), os.path.join(folder, "p.lp")
            json.dump(data, open(problem_file, "w"))
            open(programme, "w").write(linear_programme(data))
            own, total, proven = run_kitgap(chosen.kitgap, problem_file, chosen.cap)
            peers = [run_cbc(programme, chosen.cap), run_glpk(programme, chosen.cap)]
        ratios, notes = [], [] if proven else ["kitgap: not proven"]
        for peer, (seconds, value, done) in zip(("cbc", "glpk"), peers):
            wrong = done and abs(value - total) > 1e-6 * max(1, abs(total)) and proven
            ratios.append("wrong" if wrong else ("" if done else ">") + f"{seconds / own:.2f}")
            if wrong:
                notes.append(f"{peer} says {value:.15g}, proven {total:.15g}")
        print(f"{name:<22}{own:>10.2f}{peers[0][0]:>10.2f}{peers[1][0]:>10.2f}{ratios[0]:>12}{ratios[1]:>13}  {'; '.join(notes)}",
              flush=True)


if __name__ == "__main__":
    main()
