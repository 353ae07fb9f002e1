-- Median and quartiles of head to body, where it is known.
select mode, unit, count(*) as n,
  percentile_cont(0.25) within group (order by head_to_body_s) as q1,
  percentile_cont(0.5) within group (order by head_to_body_s) as median,
  percentile_cont(0.75) within group (order by head_to_body_s) as q3
from births
where head_to_body_state = 'known'
group by mode, unit
order by mode, unit
