"""The friction formula of the trade's tables, to hold Darcy and Weisbach against."""


def hazen_williams_loss_m(
    flow_m3_s: float, length_m: float, bore_m: float, coefficient: float = 150.0
) -> float:
    """Head lost to friction [m]: Rossman, L. (2020), EPANET 2.2 User Manual, table 3.1.

    Its 4.727 is for feet and cubic feet per second; C is 140 to 150 for plastic.
    """
    foot = 0.3048
    flow_ft3_s = abs(flow_m3_s) / foot**3
    loss = 4.727 * length_m * (flow_ft3_s / coefficient) ** 1.852 / (bore_m / foot) ** 4.871
    return float(loss if flow_m3_s >= 0.0 else -loss)
