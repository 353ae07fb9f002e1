-- From a role's own call, or from the call for help, to the first arrival of that role.
select mode, measure, role, count(*) as called, count(seconds) as arrived,
  percentile_cont(0.25) within group (order by seconds) as q1,
  percentile_cont(0.5) within group (order by seconds) as median,
  percentile_cont(0.75) within group (order by seconds) as q3
from intervals
where measure in ('called-to-arrival', 'help-to-arrival') and number = 1
group by mode, measure, role
order by mode, measure, role
