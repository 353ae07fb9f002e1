-- Time errors of drills: median over drills of each drill's median error, and of head to body.
select drill_way, count(*) as drills,
  percentile_cont(0.5) within group (order by truth_error_s) as time_error_s,
  count(truth_head_to_body_error_s) as compared,
  percentile_cont(0.5) within group (order by truth_head_to_body_error_s) as head_to_body_error_s
from births
where mode = 'practice' and truth_events is not null
group by drill_way
order by drill_way
